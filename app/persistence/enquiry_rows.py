"""An enquiry's row, as the fold of its stream says it."""

from typing import Any, Final

from sqlalchemy import update

from app.core.enquiry import Enquiry, enquiry_facts, enquiry_named_by
from app.core.entries import ENQUIRY, EnquiryClosed, EnquiryLapsed, EnquiryOpened, Entry, named
from app.persistence import ledger, models
from app.persistence.base import adding_to, table_of
from app.persistence.session import WriteSession

Enquiring = EnquiryOpened | EnquiryClosed | EnquiryLapsed
"""What happens to enquiries."""


def write(session: WriteSession, entry: Entry, payload: Enquiring) -> None:
    """Bring an enquiry's row up to one entry, the last of the ledger or the next of a rebuild."""
    id = enquiry_named_by(payload) or named(ENQUIRY, entry.seq)
    enquiry = enquiry_facts(ledger.entries_of(session, streams=[f"enquiry:{id}"], up_to=entry.seq))
    table = table_of(models.Enquiry)
    if enquiry.seq == entry.seq:
        session.connection().execute(adding_to(models.Enquiry), _row(enquiry))
    else:
        session.connection().execute(update(table).where(table.c.id == id).values(_row(enquiry)))


_NOT_COLUMNS: Final = frozenset({"subject"})


def _row(enquiry: Enquiry) -> dict[str, Any]:
    """The fact's own words are the columns."""
    said = {name: getattr(enquiry, name) for name in enquiry.__struct_fields__ if name not in _NOT_COLUMNS}
    return said | {"subject_kind": enquiry.subject.kind, "subject_id": enquiry.subject.id}
