"""A good example of every write, so that each can be spoiled in one place."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from cases.services.calls import defer_call
from tests.api.herd_examples import HERD_GOOD, HERD_MAY_LIE_AHEAD
from tests.api.recheck_examples import RECHECK_GOOD
from tests.api.rota_examples import ROTA_GOOD
from tests.api.world import World
from tests.factories import NOW, PASSWORD
from tests.message_rows import a_dead_letter, a_gateway_key, a_way, an_unread_reply
from tests.told_rows import a_collection, a_contact, a_ring, a_sale, a_telling

SOON, LATER = (NOW + timedelta(days=2)).isoformat(), (NOW + timedelta(days=2, hours=4)).isoformat()
PAST, FUTURE = (NOW - timedelta(minutes=5)).isoformat(), (NOW + timedelta(hours=1)).isoformat()

Example = tuple[str, dict[str, Any], str]
# operation: (path with the key of a row, a good body, who sends it)
GOOD: dict[str, Callable[[World], Example]] = {
    "sign_in": lambda w: ("sign-in", {"username": w.desk.username, "password": PASSWORD}, "nobody"),
    "sign_out": lambda w: ("sign-out", {}, "desk"),
    "report_self": lambda w: ("me/report", {"state": "tired", "hours_slept": 5.25}, "vet"),
    "lift_stand_down": lambda w: (f"vets/{w.vet.pk}/lift-stand-down", {"reason": "a slip"}, "manager"),
    "move_kit": lambda w: (
        f"kit/{w.vet.kit.first().pk}/move",
        {"place": "car", "state": "sterilising", "ready_at": SOON, "vet": w.vet.pk, "reason": "used"},
        "vet",
    ),
    "write_report_note": lambda w: (
        f"vets/{w.vet.pk}/report-notes",
        {"week": "2026-03-09", "text": "Monday off, the locum takes the list."},
        "manager",
    ),
    "see_own_report": lambda w: (
        "me/fatigue-report/seen",
        {"first": "2026-03-01", "last": "2026-03-14", "says": "One call is missing."},
        "vet",
    ),
    "add_my_way": lambda w: (
        "me/reach",
        {
            "channel": "text",
            "address": "01632 960321",
            "from_clock": "20:00",
            "until_clock": "06:00",
            "order": 2,
        },
        "vet",
    ),
    "end_my_way": lambda w: (f"me/reach/{a_way(w.vet.member).pk}/end", {}, "vet"),
    "try_message_again": lambda w: (f"messages/{a_dead_letter(w.practice).pk}/again", {}, "desk"),
    "tell_message_by_telephone": lambda w: (
        f"messages/{a_dead_letter(w.practice).pk}/told",
        {"whom": "Mrs Hobb herself"},
        "vet",
    ),
    "close_message": lambda w: (
        f"messages/{a_dead_letter(w.practice).pk}/close",
        {"reason": "cow sold yesterday"},
        "desk",
    ),
    "read_reply": lambda w: (
        f"replies/{an_unread_reply(w.practice).pk}/read",
        {"note": "rang her", "answer": "We come at two."},
        "desk",
    ),
    "make_gateway_key": lambda w: ("gateway/keys", {}, "manager"),
    "end_gateway_key": lambda w: (f"gateway/keys/{a_gateway_key(w.manager).pk}/end", {}, "manager"),
    "take_owed_rest": lambda w: (f"rest-owed/{w.owed().pk}/take", {"taken_at": PAST}, "manager"),
    "settle_rest_rules": lambda w: (
        "rest-rules",
        {
            "set": "practice",
            "reading": "window24",
            "standby_in_full": True,
            "night_rules_replace_daily": True,
            "figures": {"PR_DAILY_REST": 12},
            "reason": "agreed",
        },
        "manager",
    ),
    "add_shift": lambda w: (
        "shifts",
        {
            "vet": w.vet.pk,
            "role": "day",
            "start": SOON,
            "end": LATER,
            "at_workplace": True,
            "site": "north",
        },
        "manager",
    ),
    "end_shift": lambda w: (f"shifts/{w.vet.shifts.get().pk}/end", {"reason": "swap"}, "manager"),
    "take_call": lambda w: (
        "calls",
        {
            "complaint": "dystocia_cattle",
            "species": "cattle",
            "answers": {"wrong_way": "yes"},
            "caller_phone": "01632 960777",
            "caller_name": "Young farmer",
            "client": w.client.pk,
            "location": w.farm.pk,
            "place_note": "top shed",
            "details": "second calver",
            "affected": 1,
            "called_at": PAST,
            "onset_at": PAST,
            "vets_needed": 1,
            "in_spite_of_duplicate": True,
        },
        "desk",
    ),
    "defer_call": lambda w: (
        f"calls/{w.call().pk}/defer",
        {"until": SOON, "reason": "can wait", "agreed_by_vet": w.vet.pk},
        "desk",
    ),
    "resume_call": lambda w: (f"calls/{deferred(w)}/resume", {}, "desk"),
    "hand_over_call": lambda w: (
        f"calls/{w.call().pk}/hand-over",
        {"neighbour": "Over the fell", "accepted_by": "Rowan", "told": "all"},
        "desk",
    ),
    "advise": lambda w: (
        f"calls/{w.call().pk}/advise",
        {"vet": w.vet.pk, "minutes": 9, "outcome": "calved", "ends_call": True},
        "desk",
    ),
    "cancel_call": lambda w: (f"calls/{w.call().pk}/cancel", {"reason": "up again"}, "desk"),
    "reassess": lambda w: (
        f"calls/{w.call().pk}/reassess",
        {
            "answers": {"pulled_min": 3},
            "onset_at": PAST,
            "lowered_by_vet": w.vet.pk,
            "lower_to": "urgent",
            "till_morning": False,
            "reason": "heard it",
        },
        "desk",
    ),
    "say_farm": lambda w: (f"calls/{w.call(location_id=None).pk}/farm", {"location": w.farm.pk}, "desk"),
    "assign_by_hand": lambda w: (
        f"calls/{w.call().pk}/assign",
        {"vet": w.vet.pk, "reason": "knows the farm", "place": 1, "approval_reason": ""},
        "desk",
    ),
    "put_offer": lambda w: ("offers", {"call": w.call().pk, "vet": w.vet.pk, "place": 1}, "desk"),
    "accept_offer": lambda w: (f"offers/{w.offer().pk}/accept", {"happened_at": PAST}, "vet"),
    "decline_offer": lambda w: (
        f"offers/{w.offer().pk}/decline",
        {"reason": "too_far", "note": "45 min"},
        "vet",
    ),
    "withdraw_offer": lambda w: (f"offers/{w.offer().pk}/withdraw", {"reason": "rang off"}, "desk"),
    "report_progress": lambda w: (
        f"visits/{w.visit().pk}/reports",
        {"kind": "estimate", "happened_at": PAST, "minutes": 20, "note": "twins"},
        "vet",
    ),
    "stand_down": lambda w: (f"visits/{w.visit().pk}/stand-down", {"reason": "managed"}, "desk"),
    "told_read": lambda w: (f"told/{a_telling(w).pk}/read", {"who": "Anna"}, "desk"),
    "ring_tried": lambda w: (f"rings/{a_ring(w).pk}/tried", {"note": "no answer"}, "desk"),
    "ring_reached": lambda w: (
        f"rings/{a_ring(w).pk}/reached",
        {"who": "Anna", "told_at": NOW.isoformat(), "result": "knows"},
        "desk",
    ),
    "enter_sale": lambda w: (
        "sales",
        {
            "location": w.farm.pk,
            "leaves_at": SOON,
            "kind": "market",
            "animals": [w.cow.pk],
            "groups": [w.pen.pk],
            "note": "spring sale",
        },
        "desk",
    ),
    "call_off_sale": lambda w: (f"sales/{a_sale(w).pk}/call-off", {"reason": "lame"}, "desk"),
    "set_milk_collection": lambda w: (
        f"locations/{w.farm.pk}/milk-collections",
        {"weekdays": [0, 2, 4], "at": "07:30"},
        "desk",
    ),
    "end_milk_collection": lambda w: (f"milk-collections/{a_collection(w).pk}/end", {}, "desk"),
    "add_farm_contact": lambda w: (
        f"locations/{w.farm.pk}/contacts",
        {"name": "Relief", "part": "relief", "email": "relief@farm.example", "number": "01632 960321"},
        "desk",
    ),
    "set_client_told": lambda w: (
        f"clients/{w.farm.client_id}/told",
        {"told_by": "both", "email": "farm@client.example", "text_number": "01632 960321"},
        "desk",
    ),
    "end_farm_contact": lambda w: (f"farm-contacts/{a_contact(w).pk}/end", {}, "desk"),
    "record_treatment": lambda w: (
        f"visits/{w.visit().pk}/treatments",
        {
            "medicine": w.medicine.pk,
            "route": "intramuscular",
            "dose_amount": 20.5,
            "dose_unit": "ml",
            "first_given_at": PAST,
            "last_given_at": LATER,
            "doses": 3,
            "animal": w.cow.pk,
            "batch": "B1",
            "animal_class": "lactating",
            "weight_kg": 612.5,
            "weight_known_by": "band",
            "given_by": "the herdsman, under my eyes",
            "diagnosis": "metritis",
            "examined_on": "2026-03-14",
            "override_reason": "",
            "off_label": False,
            "off_label_reason": "",
            "marks": "red band",
            "in_milk": True,
        },
        "vet",
    ),
    "check_treatment": lambda w: (
        f"visits/{w.visit().pk}/treatments/check",
        {
            "medicine": w.medicine.pk,
            "route": "intramuscular",
            "dose_amount": 20.5,
            "dose_unit": "ml",
            "first_given_at": PAST,
            "last_given_at": LATER,
            "doses": 3,
            "animal": w.cow.pk,
            "batch": "B1",
            "weight_kg": 612.5,
            "weight_known_by": "band",
            "off_label": False,
            "in_milk": True,
        },
        "vet",
    ),
    "add_medicine": lambda w: (
        "medicines",
        {
            "substance": "lidocaine",
            "strength": "2 %",
            "form": "injection",
            "kind": "anaesthetic_local",
            "mg_per_ml": 20,
        },
        "manager",
    ),
    "end_medicine": lambda w: (f"medicines/{w.medicine.pk}/end", {"reason": "no longer sold"}, "manager"),
    "begin_label_entry": lambda w: (
        f"medicines/{w.medicine.pk}/entries",
        {
            "species": "cattle",
            "route": "intramammary",
            "commodity": "milk",
            "animal_class": "dry",
            "value": 96,
            "unit": "hours",
            "from_calving": True,
            "min_dry_days": 42,
            "max_doses": 4,
            "max_dose": 1.5,
            "max_dose_unit": "mg/kg",
            "jurisdiction": "GB",
            "valid_from": "2026-03-01",
            "source": "the leaflet",
            "note": "new label",
        },
        "manager",
    ),
    "end_label_entry": lambda w: (
        f"label-entries/{w.medicine.periods.first().pk}/end",
        {"on": "2026-03-20", "reason": "a new label"},
        "manager",
    ),
    "confirm_label_entry": lambda w: (f"label-entries/{w.recalled_entry().pk}/confirm", {}, "vet"),
    "add_batch": lambda w: (
        f"medicines/{w.medicine.pk}/batches",
        {"number": "L4711", "expires_on": "2027-05-31", "received_on": "2026-03-01"},
        "vet",
    ),
    "end_batch": lambda w: (f"batches/{w.batch().pk}/end", {"reason": "used up"}, "vet"),
    "take_formulary_sheet": lambda w: ("formulary/sheet", {"csv": w.sheet(), "take": True}, "manager"),
    "take_starter_rows": lambda w: ("formulary/starter-rows", {"take": True}, w.where_rows_exist()),
    "open_procedure": lambda w: (
        f"visits/{w.visit().pk}/procedures",
        {
            "kind": "displaced_abomasum",
            "animal": w.cow.pk,
            "findings": {"ping_side": "left", "heart_rate": "84"},
            "problems": "left displaced abomasum",
            "options": ["right_flank_omentopexy", "cull"],
            "options_note": "milk is thrown away for a week",
        },
        "vet",
    ),
    "write_procedure_findings": lambda w: (
        f"procedures/{w.procedure().pk}/findings",
        {"findings": {"ketones": "2.1"}, "reason": "read the strip again"},
        "vet",
    ),
    "write_consent": lambda w: (
        f"procedures/{w.procedure().pk}/consent",
        {"by": "Mr Hobb", "how": "telephone", "at": PAST, "ceiling": 450, "if_worse": "stop"},
        "vet",
    ),
    "write_operation": lambda w: (
        f"procedures/{w.procedure().pk}/operation",
        {
            "method": "right_flank_omentopexy",
            "started_at": (NOW - timedelta(hours=1)).isoformat(),
            "ended_at": PAST,
            "kit": [{"kit": w.vet.kit.first().pk, "next_state": "sterilising", "ready_at": SOON}],
            "without_consent": "spoken, not yet written",
        },
        "vet",
    ),
    "write_not_done": lambda w: (f"procedures/{w.procedure().pk}/not-done", {"why": "she is culled"}, "vet"),
    "tell_procedure_aftercare": lambda w: (
        f"procedures/{w.procedure().pk}/aftercare",
        {"words": "Is she eating?"},
        "vet",
    ),
    "write_procedure_outcome": lambda w: (
        f"procedures/{w.procedure(done=True).pk}/outcome",
        {"day": 4, "outcome": "dead", "words": "found in the morning"},
        "desk",
    ),
    "set_withdrawal": lambda w: (
        f"withdrawals/{w.treatment().withdrawals.get(commodity='milk').pk}/set",
        {"hours": 240, "reason": "to be safe"},
        "vet",
    ),
    "book_visit": lambda w: (
        "bookings",
        {
            "location": w.farm.pk,
            "kind": "routine",
            "complaint": "herd_fertility_visit",
            "start": SOON,
            "end": LATER,
            "vet": w.vet.pk,
            "note": "yard side",
        },
        "desk",
    ),
    "cancel_booking": lambda w: (f"bookings/{w.booking().pk}/cancel", {"reason": "snow"}, "desk"),
    "take_booked": lambda w: (f"bookings/{w.booking().pk}/take", {"vet": w.vet.pk}, "desk"),
}
GOOD |= ROTA_GOOD | HERD_GOOD | RECHECK_GOOD
# moments that are meant to lie ahead
MAY_LIE_AHEAD = {
    "propose_repair": {"start", "end"},
    "add_shift": {"start", "end"},
    "book_visit": {"start", "end"},
    "enter_sale": {"leaves_at"},
    "defer_call": {"until"},
    "record_treatment": {"last_given_at"},
    "check_treatment": {"last_given_at"},
    "move_kit": {"ready_at"},
} | HERD_MAY_LIE_AHEAD


def deferred(world: World) -> int:
    call = world.call()
    until = NOW + timedelta(hours=9)
    defer_call(call_id=call.pk, actor=world.vet.member, now=NOW, until=until, reason="later")
    return int(call.pk)
