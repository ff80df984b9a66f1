"""How many there are of everything."""

from typing import Final

from sqlmodel import func, select

from app.core.lifecycle import State
from app.persistence.models import Carrier, Claim, Document, Fitment, Fixing, Gear, Publisher, Row, Vehicle
from app.persistence.session import AnySession

_COUNTED: Final[dict[str, type[Row]]] = {
    "publishers": Publisher,
    "vehicles": Vehicle,
    "carriers": Carrier,
    "fixings": Fixing,
    "gear": Gear,
    "fitments": Fitment,
    "documents": Document,
    "claims": Claim,
}


def totals(session: AnySession) -> dict[str, int]:
    """The number of publishers, subjects of each kind, documents and claims."""
    return {name: session.exec(select(func.count()).select_from(table)).one() for name, table in _COUNTED.items()}


def claims_by_state(session: AnySession) -> dict[State, int]:
    """The number of claims in each state; none is 0."""
    found = dict(session.exec(select(Claim.state, func.count()).group_by(Claim.state)).all())
    return {state: found.get(state, 0) for state in State}
