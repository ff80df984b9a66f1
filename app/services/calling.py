"""What subjects are called, for those who read about them: maker, model and series."""

from collections.abc import Iterable

from app.core.claim import Subject, SubjectKind
from app.persistence.queries import subjects as queries
from app.persistence.session import AnySession


def called(session: AnySession, subjects: Iterable[Subject]) -> dict[Subject, str]:
    """The name of each of some subjects. What has none, as a fitment, is called by its id."""
    wanted = set(subjects)
    found = {subject: subject.id for subject in wanted}
    for kind in SubjectKind:
        ids = sorted(subject.id for subject in wanted if subject.kind is kind)
        names = queries.called(session, kind=kind, ids=ids)
        found |= {Subject(kind, id): name for id, name in names.items()}
    return found
