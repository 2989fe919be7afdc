"""Starter rows for a formulary, from published figures with their marks. The label in the hand governs."""

import re
from collections.abc import Iterator
from functools import cache

from cases.medicines.entry import Entry, Product, Says, Use
from cases.medicines.tables import kind_of, route_word
from cases.medicines.units import mg_per_ml_of
from cases.withdrawal.published import PublishedPeriod, published_periods

CAUTION = (
    "These are printed figures of other people's bottles, some of them recalled and never read. "
    "The label in your hand, your own law and the attending vet govern; the strictest wins."
)
CLASSES = {
    "lactating dairy cattle": "lactating",
    "lactating cows": "lactating",
    "lactating cows, any duration": "lactating",
    "lactating cows, two infusions 24 h apart": "lactating",
    "lactating cows, extended (up to 8 d)": "lactating",
    "dry cows": "dry",
    "dry cows, dry period at least 30 d": "dry",
    "beef cattle": "beef",
    "calves": "calf",
    "cattle": "",
    "cattle (not dry dairy cows, not veal)": "",
    "cattle (with class limits)": "",
    "cattle (not female dairy 20 months or older)": "",
    "beef and dairy cattle": "",
    "beef and non-lactating dairy cattle": "",
}
"""The class that each kind of words in the published table means; all of them are cattle."""
COURSES = {"lactating cows, two infusions 24 h apart": 2, "lactating cows, extended (up to 8 d)": 8}
SHUT_OUT = {
    "dry_cow": ("dry",),
    "lactating_cow": ("lactating",),
    "veal_calf": ("veal",),
    "preruminating_calf": ("calf", "veal"),
    "dairy_female_20_months": ("lactating", "dry", "heifer"),
}
STRENGTH = re.compile(r"(?P<substance>.+?) (?P<strength>[\d,]+ (?:mg|units)/mL)")
FORMS = {"intramammary": "udder tube", "topical": "pour-on", "oral": "by mouth"}


@cache
def starter_rows(jurisdiction: str) -> tuple[Entry, ...]:
    """Return the label entries that were published for a jurisdiction; none where none were found."""
    found = [row for row in published_periods() if (row.jurisdiction, row.basis) == (jurisdiction, "label")]
    entries: dict[tuple[Product, Use], Entry] = {}
    for row in found:
        for entry in (*_stated(row), *_shut_out(row)):
            assert entry.use is not None
            entries.setdefault((entry.product, entry.use), entry)
    return tuple(entries.values())


def _stated(row: PublishedPeriod) -> Iterator[Entry]:
    published = row.entry()
    calving = published.from_calving or (row.min_dry_days is not None and row.commodity == "milk")
    says = Says(
        value=None if published.length is None else published.length.value,
        unit="hours" if published.length is None else published.length.unit.value,
        from_calving=calving,
        min_dry_days=row.min_dry_days if calving else None,
        source=f"{row.jurisdiction} {row.source}"[:200],
        mark=row.mark,
        note=_note(row),
    )
    for route in row.route.split("/"):
        yield _entry(row, route, CLASSES[row.species_class], says)


def _shut_out(row: PublishedPeriod) -> Iterator[Entry]:
    """Write the classes that the label shuts out as entries of their own: a class unsaid is not a class."""
    own = CLASSES[row.species_class]
    refused = sorted({word for excluded in row.excluded for word in SHUT_OUT[excluded]} - {own})
    says = Says(
        not_for_use=True, source=f"{row.jurisdiction} {row.source}"[:200], mark=row.mark, note=_note(row)
    )
    for route in row.route.split("/"):
        yield from (_entry(row, route, word, says) for word in refused)


def _entry(row: PublishedPeriod, route: str, animal_class: str, says: Says) -> Entry:
    product = _product(row)
    course = COURSES.get(row.species_class) if not says.not_for_use and row.commodity == "meat" else None
    use = Use("cattle", route, animal_class, row.commodity, course, row.jurisdiction)
    return Entry(product, kind_of(product.substance.lower()), mg_per_ml_of(product.strength), use, says)


def _product(row: PublishedPeriod) -> Product:
    found = STRENGTH.fullmatch(row.substance)
    substance, strength = (found["substance"], found["strength"]) if found else (row.substance, "")
    form = FORMS.get(route_word(row.route), "injection")
    if form == "udder tube":
        form = f"{form}, {'dry cows' if CLASSES[row.species_class] == 'dry' else 'cows in milk'}"
    return Product(substance, strength, form)


def _note(row: PublishedPeriod) -> str:
    return "; ".join(filter(None, (row.species_class, row.note)))[:200]
