"""Show what a derivation comes to, before any claim carries it."""

from app.core.claim import Subject, SubjectKind
from app.core.mass import Unit
from app.core.permissions import Scope
from app.core.scope import SILENT
from app.persistence.session import AnySession
from app.services.deriving import work_out
from app.services.inputs import NewDerivation
from app.services.views.derivations import DerivationView, derivation_view
from app.services.work import Work


def derive(work: Work, new: NewDerivation) -> DerivationView:
    """Work a figure back and show how. Nothing is kept."""
    work.require(Scope.SUBMIT)
    return derived(work.session, new)


def derived(session: AnySession | None, new: NewDerivation) -> DerivationView:
    """A figure worked back, and how. Without a session, no registry is asked: rows that stand for themselves need none."""
    vehicle = None if new.vehicle is None else Subject(SubjectKind.VEHICLE, new.vehicle)
    out = work_out(session, new, vehicle, new.condition, SILENT)
    return derivation_view(out, new, new.condition, Unit(new.unit))
