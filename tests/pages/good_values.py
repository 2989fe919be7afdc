"""What a person would type into each form of the pages."""

from datetime import timedelta

from rotas.models import Neighbour
from tests.pages.site import Evening

MINUTE = "%Y-%m-%dT%H:%M"


def good_values(evening: Evening, action: str) -> dict[str, str]:
    """Return what a person would type into the form, where the page does not say it already."""
    world = evening.world
    local = world.practice.local
    tonight, tomorrow = (
        local(evening.booking.window.lower).strftime(MINUTE),
        local(evening.booking.window.upper).strftime(MINUTE),
    )
    now = local(world.now).strftime(MINUTE)
    before = local(world.now - timedelta(hours=1)).strftime(MINUTE)
    examples: dict[str, dict[str, str]] = {
        "/calls/take/": {
            "species": "cattle", "complaint": "dystocia_cattle", "caller_phone": "01632 960123",
            "affected": "2", "onset_h": "1", "onset_min": "30", "another_animal": "yes",
            "location": str(world.farm.pk), "caller_name": "J. Orrin", "place_note": "second gate",
            "details": "first calf", "a_pushing_min_cow": "70",
        },
        "assign": {"vet": str(world.vet.pk)},
        "advise": {"vet": str(world.vet.pk)},
        "hand-over": {"neighbour_name": "Over the hill"},
        "defer": {"vet": str(world.vet.pk), "until": tonight},
        "treatments": {
            "medicine": str(world.medicine.pk), "animal": str(world.cow.pk), "route": "intramuscular",
            "dose_amount": "20", "dose_unit": "ml", "doses": "2", "batch": "B1", "marks": "red band",
            "first_given_at": local(world.now).strftime(MINUTE), "last_given_at": tonight,
        },
        "sign": {"hours": "700"},
        "/medicines/": {
            "substance": "lidocaine", "strength": "2 %", "form": "injection", "mg_per_ml": "20",
            "kind": "anaesthetic_local",
        },
        "entries": {
            "species": "cattle", "route": "intramammary", "animal_class": "dry", "commodity": "milk",
            "value": "96", "unit": "hours", "from_calving": "yes", "min_dry_days": "42", "max_doses": "4",
            "max_dose": "1.5", "max_dose_unit": "mg/kg", "source": "the leaflet", "note": "new label",
            "valid_from": "2026-03-01",
        },
        "batches": {"number": "L4712", "expires_on": "2027-05-31", "received_on": "2026-03-01"},
        "/book/": {"start": tonight, "end": tomorrow, "vet": str(world.vet.pk), "note": "bring the scanner"},
        "/rota/": {"start": "2026-03-20T18:00", "end": "2026-03-21T08:00", "vet": str(world.vet.pk)},
        "/sales/": {"animal": str(world.cow.pk), "leaves_at": "2026-04-20T08:00", "note": "spring sale"},
        "operation": {
            "method": "right_flank_omentopexy", "started_at": before, "ended_at": now,
            "without_consent": "spoken", "reason": "a slip",
        },
        "consent": {"by": "Mr Hobb", "at": now, "reason": "a slip"},
        "outcome": {"day": "4", "outcome": "dead", "words": "found in the morning"},
        "/messages/ways/add/": {"channel": "email", "address": "duty@vets.example"},
        "/sales/collections/": {"day": "2", "at": "06:45"},
        "/sales/told/": {"told_by": "both", "email": "hobb@farm.example", "text_number": "01632 960321"},
        "/sales/contacts/": {"name": "Milker", "part": "milks", "email": "m@farm.example"},
        "/rest/rules/": {"reading": "window24", "reason": "agreed"},
        "/rota/make/": {"name": "lambing"},
        "publish": {"with_gaps": "yes"},
        "wish": {"day": "2026-06-01"},
        "/rota/leave/": {"first_day": "2026-09-01", "last_day": "2026-09-05"},
        "approve": {"in_spite": "yes"},
        "/rota/cover/": {
            "weekday": "1", "starts": "18:00", "ends": "08:00", "wanted": "2", "site": "north",
            "from_day": "15", "from_month": "2", "until_day": "15", "until_month": "5",
        },
        "terms": {"contract": "60", "nights": "2", "started_on": "2026-01-05"},
        "off": {"weekday": "3", "role": "first", "starts_on": "2026-06-01", "ends_on": "2026-09-01"},
        "seconds": {"starts_on": "2026-06-01", "ends_on": "2026-09-01"},
        "/report/": {},
        "calving": {"animal": str(world.cow.pk), "calved_at": now, "note": "twins"},
        "move": {"animal": str(world.cow.pk), "group": str(world.pen.pk), "moved_at": now},
        "test": {
            "animal": str(world.cow.pk), "commodity": "milk", "taken_at": now, "test": "inhibitor test",
            "tested_by": "the dairy", "result": "failed", "note": "bulk tank too",
        },
        "left": {
            "animal": str(world.cow.pk), "kind": "euthanised", "route": "dead_stock", "at": now,
            "method": "injection", "buyer": "nobody", "buyer_email": "x@x.example",
            "told_in_writing": "nothing",
        },
        "arrived": {
            "tag": "UK 300003 000002", "species": "cattle", "farm_number": "302", "in_milk": "yes",
            "arrived_at": before, "from_whom": "a dealer", "papers": "dry cow tubes in January",
        },
        "hold": {
            "animal": str(world.cow.pk), "commodity": "meat", "cause": "poison", "reason": "old paint",
        },
        "same": {
            "animal": str(world.cow.pk), "other": str(evening.calving.animal_id), "reason": "her lost tag",
        },
        "calving-wrong": {
            "calving": str(evening.calving.pk), "what": "time", "calved_at": before, "note": "seen later",
        },
        "back": {"animal": str(evening.gone.pk), "reason": "it was another"},
        "identity": {"identified": "no", "head": "41"},
        "unknown": {"head": "2", "reason": "through the hedge"},
        "animal": {"tag": world.cow.tag},
        "milking": {"system": "twice", "times": "05:30, 16:30"},
        f"/holds/{evening.hold.pk}/end/": {"ends_at": tomorrow, "reason": "blood is clear"},
    }  # fmt: skip
    last = action.split("?")[0].rstrip("/").split("/")[-1]
    return examples.get(action.split("?")[0]) or examples.get(last, {})


def theirs_of(them: Evening) -> dict[str, str]:
    """Return rows of another practice by the name of the field that may hold one."""
    world = them.world
    found = {
        "location": world.farm, "vet": world.vet, "medicine": world.medicine, "animal": world.cow,
        "group": world.pen, "approved_by": world.manager, "second": world.vet,
        "other": world.cow, "calving": them.calving,
        "neighbour": Neighbour.objects.for_practice(world.practice).get(),
    }  # fmt: skip
    return {name: str(row.pk) for name, row in found.items()}
