"""The doors to the rows of this floor. Another practice's row is simply not found.

Lock order everywhere: call, then visit or offer, then vet. A `_for_update` door locks only the row
itself and belongs in a transaction.
"""

from typing import Any

from cases.models import (
    Animal,
    Batch,
    BookedVisit,
    Call,
    Calving,
    Client,
    Group,
    LabelPeriod,
    Location,
    Medicine,
    OtherHold,
    ProcedureRecord,
    Recheck,
    Treatment,
    Visit,
    Withdrawal,
)
from rotas.access import find
from rotas.models import Practice


def call_in(practice: Practice, pk: Any) -> Call:
    """Return a call of the practice by key."""
    rows = Call.objects.select_related("location", "client", "practice", "taken_by", "lowered_by")
    return find(rows, pk=pk, practice=practice, what="call")


def call_for_update(practice: Practice, pk: Any) -> Call:
    """Return the locked call."""
    rows = Call.objects.select_for_update(of=("self",)).select_related("location", "client", "practice")
    return find(rows, pk=pk, practice=practice, what="call")


def visit_in(practice: Practice, pk: Any) -> Visit:
    """Return a visit of the practice by key."""
    rows = Visit.objects.select_related(
        "call__location", "booked__location", "vet__member", "vet__practice", "practice"
    )
    return find(rows, pk=pk, practice=practice, what="visit")


def visit_for_update(practice: Practice, pk: Any) -> Visit:
    """Return the locked visit, its call or booking locked before it."""
    seen = visit_in(practice, pk)
    if seen.call_id:
        call_for_update(practice, seen.call_id)
    else:
        booked_for_update(practice, seen.booked_id)
    rows = Visit.objects.select_for_update(of=("self",)).select_related(
        "call__location__client", "booked__location__client", "vet__member", "vet__practice", "practice"
    )
    return find(rows, pk=pk, practice=practice, what="visit")


def booked_in(practice: Practice, pk: Any) -> BookedVisit:
    """Return a booked visit of the practice by key."""
    rows = BookedVisit.objects.select_related("location__client", "vet__member", "practice")
    return find(rows, pk=pk, practice=practice, what="booked visit")


def booked_for_update(practice: Practice, pk: Any) -> BookedVisit:
    """Return the locked booked visit."""
    rows = BookedVisit.objects.select_for_update(of=("self",)).select_related(
        "location__client", "vet__member", "practice"
    )
    return find(rows, pk=pk, practice=practice, what="booked visit")


def location_in(practice: Practice, pk: Any) -> Location:
    """Return a farm of the practice by key."""
    return find(Location.objects.select_related("client"), pk=pk, practice=practice, what="location")


def client_in(practice: Practice, pk: Any) -> Client:
    """Return a client of the practice by key."""
    return find(Client.objects.all(), pk=pk, practice=practice, what="client")


def animal_in(practice: Practice, pk: Any) -> Animal:
    """Return an animal of the practice by key."""
    return find(
        Animal.objects.select_related("location__client", "practice"), pk=pk, practice=practice, what="animal"
    )


def group_in(practice: Practice, pk: Any) -> Group:
    """Return a group of the practice by key."""
    return find(
        Group.objects.select_related("location__client", "practice"), pk=pk, practice=practice, what="group"
    )


def medicine_in(practice: Practice, pk: Any) -> Medicine:
    """Return a medicine of the practice by key."""
    return find(Medicine.objects.select_related("practice"), pk=pk, practice=practice, what="medicine")


def medicine_for_update(practice: Practice, pk: Any) -> Medicine:
    """Return the locked medicine, before any of its label entries or batches."""
    return find(Medicine.objects.select_for_update(), pk=pk, practice=practice, what="medicine")


def entry_in(practice: Practice, pk: Any) -> LabelPeriod:
    """Return a label entry of the practice by key."""
    rows = LabelPeriod.objects.select_related("medicine__practice", "practice")
    return find(rows, pk=pk, practice=practice, what="label entry")


def entry_for_update(practice: Practice, pk: Any) -> LabelPeriod:
    """Return the locked label entry."""
    rows = LabelPeriod.objects.select_for_update(of=("self",)).select_related("medicine", "practice")
    return find(rows, pk=pk, practice=practice, what="label entry")


def batch_in(practice: Practice, pk: Any) -> Batch:
    """Return a batch of the practice by key."""
    return find(Batch.objects.select_related("medicine__practice"), pk=pk, practice=practice, what="batch")


def batch_for_update(practice: Practice, pk: Any) -> Batch:
    """Return the locked batch."""
    rows = Batch.objects.select_for_update(of=("self",)).select_related("medicine", "practice")
    return find(rows, pk=pk, practice=practice, what="batch")


def treatment_in(practice: Practice, pk: Any) -> Treatment:
    """Return a treatment of the practice by key."""
    rows = Treatment.objects.select_related("medicine", "animal", "group", "location__client", "vet__member")
    return find(rows, pk=pk, practice=practice, what="treatment")


def withdrawal_in(practice: Practice, pk: Any) -> Withdrawal:
    """Return a withdrawal of the practice by key."""
    rows = Withdrawal.objects.select_related(
        "treatment__medicine", "treatment__location", "signed_by__member"
    )
    return find(rows, pk=pk, practice=practice, what="withdrawal")


def withdrawal_for_update(practice: Practice, pk: Any) -> Withdrawal:
    """Return the locked withdrawal."""
    rows = Withdrawal.objects.select_for_update(of=("self",)).select_related(
        "treatment__medicine",
        "treatment__location__client",
        "treatment__animal",
        "treatment__group",
        "practice",
    )
    return find(rows, pk=pk, practice=practice, what="withdrawal")


def calving_in(practice: Practice, pk: Any) -> Calving:
    """Return a calving of the practice by key."""
    rows = Calving.objects.select_related("animal__location", "animal__practice", "practice")
    return find(rows, pk=pk, practice=practice, what="calving")


def other_hold_in(practice: Practice, pk: Any) -> OtherHold:
    """Return what is held for another reason than a treatment, by key."""
    rows = OtherHold.objects.select_related("practice", "location__client", "animal", "group")
    return find(rows, pk=pk, practice=practice, what="hold")


def recheck_in(practice: Practice, pk: Any) -> Recheck:
    """Return a recheck of the practice by key."""
    rows = Recheck.objects.select_related("location__client", "visit__vet__member", "booked")
    return find(rows, pk=pk, practice=practice, what="recheck")


def recheck_for_update(practice: Practice, pk: Any) -> Recheck:
    """Return the locked recheck."""
    rows = Recheck.objects.select_for_update(of=("self",)).select_related(
        "location__client", "visit", "booked", "practice"
    )
    return find(rows, pk=pk, practice=practice, what="recheck")


def procedure_in(practice: Practice, pk: Any) -> ProcedureRecord:
    """Return a procedure's record of the practice by key."""
    rows = ProcedureRecord.objects.select_related(
        "animal", "location__client", "practice", "visit", "surgeon__member", "second_surgeon__member"
    )
    return find(rows, pk=pk, practice=practice, what="procedure")


def procedure_for_update(practice: Practice, pk: Any) -> ProcedureRecord:
    """Return the locked record."""
    rows = ProcedureRecord.objects.select_for_update(of=("self",)).select_related(
        "animal__location", "location__client", "practice"
    )
    return find(rows, pk=pk, practice=practice, what="procedure")
