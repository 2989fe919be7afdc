"""What holds the animals of one farm, read once for all that one scan tells it."""

from collections.abc import Iterable
from datetime import datetime

from cases.models import Location, OtherHold, Treatment, Withdrawal
from cases.services.held import governing, other_holds_in, other_holds_of, rank
from cases.services.known import Known, Subject
from cases.services.selling import Sale, judged_on, known_of


class FarmHolds:
    """The holds of some animals and pens of a farm at some moments, in a few queries whatever their number.

    About another animal, or another moment, it asks by itself. To be thrown away after the scan.
    """

    def __init__(
        self, location: Location, subjects: Iterable[Subject] = (), moments: Iterable[datetime] = ()
    ) -> None:
        self.location = location
        self.known = known_of(subjects, moments)

    def may_be_sold(self, subject: Subject, commodity: str, at: datetime) -> Sale:
        """Return whether the produce may be sold at the instant; the answer of `selling`."""
        return judged_on(self._known_of(subject, at), subject, commodity, at)

    def governing(self, treatment: Treatment, commodity: str) -> Withdrawal | None:
        """Return the one that ends last of what holds the same produce; as for one treatment alone."""
        return governing(treatment, commodity, known=self._known_of(_subject_of(treatment)))

    def beyond(self, row: Withdrawal) -> list[OtherHold]:
        """Return what holds the same produce longer than this row without being a treatment of ours."""
        treatment = row.treatment
        known = self._known_of(_subject_of(treatment))
        if treatment.animal is not None:
            found = other_holds_of(treatment.animal, known=known)
        else:
            found = other_holds_in(treatment.group, known=known) if treatment.group else []
        return [each for each in found if each.commodity == row.commodity and rank(each) > rank(row)]

    def _known_of(self, subject: Subject, at: datetime | None = None) -> Known:
        if self.known.covers(subject) and self.known.reaches(at):
            return self.known
        return known_of([subject], [] if at is None else [at])


def _subject_of(treatment: Treatment) -> Subject:
    subject = treatment.animal or treatment.group
    assert subject is not None
    return subject
