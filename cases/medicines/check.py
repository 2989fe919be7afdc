"""Everything that is to be shown before a treatment is written down."""

from collections.abc import Callable, Iterable, Iterator

from cases.medicines.caution import Caution, Level, most_serious_first
from cases.medicines.ceilings import ceiling_cautions
from cases.medicines.given import Given
from cases.medicines.label_use import label_cautions
from cases.medicines.tables import kind_in_force, standing


def standing_cautions(given: Given) -> Iterator[Caution]:
    """Return the cautions of the class of medicine."""
    kind = kind_in_force(given.kind, given.substance)
    for row in standing():
        if row.applies(kind, given.substance, given.species, given.animal_class, given.route):
            yield Caution(row.code, row.level, row.sentence, row.source, row.mark)


def strength_cautions(given: Given) -> Iterator[Caution]:
    """Name every strength of the substance that the practice holds: a five-fold error is one glance away."""
    if given.other_strengths:
        own = given.strength or "without a strength"
        every = " and ".join((own, *given.other_strengths))
        sentence = (
            f"The practice holds {given.substance} as {every}. This is reckoned as {own}: "
            "read the bottle in your hand."
        )
        yield Caution("two_strengths", Level.WARN, sentence, mark="from memory, not verified")


def batch_cautions(given: Given) -> Iterator[Caution]:
    """Stop at a batch that was past its last day when the last dose was, or is to be, given."""
    expires, last = given.batch_expires_on, given.last_on
    if expires is not None and last is not None and last > expires:
        sentence = f"Batch {given.batch} expired on {expires:%d %B %Y}. Take another, or say why this one."
        yield Caution("batch_expired", Level.STOP, sentence)


Rule = Callable[[Given], Iterable[Caution]]
RULES: tuple[Rule, ...] = (
    batch_cautions,
    ceiling_cautions,
    label_cautions,
    strength_cautions,
    standing_cautions,
)


def check(given: Given) -> tuple[Caution, ...]:
    """Return every caution, those that want a reason first."""
    return most_serious_first([caution for rule in RULES for caution in rule(given)])
