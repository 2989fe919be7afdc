"""What was given, as events of the standard."""

from datetime import UTC, datetime, time

from cases.exchange.identifiers import Json, Source, utc
from cases.exchange.words import PRODUCT, dose
from cases.records.line import Ending, MedicineLine, Standing

NO_DATE = "no date yet: keep it out until the vet sets one"
FORBIDDEN = "the label forbids this use: keep it out and ask the vet"


def treatment(line: MedicineLine, source: Source) -> Json:
    """Return one animal's treatment as an icarTreatmentEventResource."""
    one = dose(line.amount, line.unit)
    return {
        **_event("icarTreatmentEventResource", "treatment", line, source),
        "animal": source.animal(line.subject.tag),
        **_given(line, source),
        **({"dose": one} if one else {}),
        "comment": remark(line),
    }


def group_treatment(line: MedicineLine, source: Source) -> Json:
    """Return a pen's treatment as an icarGroupTreatmentEventResource.

    A pen whose animals are all known by tag is listed; else the pen itself is named. The amount is
    as it was written, which need not be per animal, so it stands in the remark.
    """
    return {
        **_event("icarGroupTreatmentEventResource", "treatment", line, source),
        **_who(line, source),
        "countObserved": line.subject.head,
        **_given(line, source),
        "remark": remark(line),
    }


def _who(line: MedicineLine, source: Source) -> Json:
    subject = line.subject
    if subject.members and len(subject.members) == subject.head:
        return {"groupMethod": "EmbeddedAnimalSet", "embeddedAnimalSet": animal_set(line, source)}
    reference = {"identifier": source.pen(subject)}
    return {"groupMethod": "ExistingAnimalSet", "animalSetReference": reference}


def animal_set(line: MedicineLine, source: Source) -> Json:
    """Return a pen as an icarAnimalSetResource: its members are those whose tags are known."""
    subject = line.subject
    return {
        "resourceType": "icarAnimalSetResource",
        "id": source.pen(subject)["id"],
        "location": source.location(),
        "name": subject.name,
        "purpose": "Enclosure",
        "member": [source.animal(tag) for tag in subject.members],
    }


def diagnosis(line: MedicineLine, source: Source) -> Json:
    """Return what was found before one animal's treatment, as an icarDiagnosisEventResource."""
    return {
        **_event("icarDiagnosisEventResource", "diagnosis", line, source),
        "animal": source.animal(line.subject.tag),
        "diagnoses": _diagnoses(line),
    }


def program(line: MedicineLine, source: Source, now: datetime) -> Json:
    """Return diagnosis and course together, as an icarTreatmentProgramEventResource.

    A course that runs into the future is a plan until its last dose is due.
    """
    given = _given(line, source)
    course: Json = {
        "startDate": utc(line.first_given_at),
        "endDate": utc(line.last_given_at),
        "medicine": given["medicine"],
        "procedure": line.route,
        "numberOfTreatments": line.doses,
        "planOrActual": "Actual" if line.last_given_at <= now else "Plan",
        "withdrawals": given["withdrawals"],
    }
    total = dose(line.amount * line.doses, line.unit)
    course |= {"totalDose": total} if total else {}
    course |= {"batches": given["batches"]} if "batches" in given else {}
    course |= {} if line.diagnosis else {"reasonForAdministration": "not recorded"}
    return {
        **_event("icarTreatmentProgramEventResource", "program", line, source),
        "animal": source.animal(line.subject.tag),
        "diagnoses": _diagnoses(line),
        "courses": [course],
        "remark": remark(line),
    }


def _diagnoses(line: MedicineLine) -> list[Json]:
    return [{"id": str(line.key), "name": line.diagnosis}] if line.diagnosis else []


def _event(kind: str, scheme: str, line: MedicineLine, source: Source) -> Json:
    modified = max(filter(None, (line.recorded_at, line.corrected_at, line.never_given_at)))
    return {
        "resourceType": kind,
        "id": str(line.key),
        "meta": {
            "source": source.scheme(scheme),
            "sourceId": str(line.key),
            "isDeleted": not line.stands,
            "modified": utc(modified),
            "created": utc(line.recorded_at),
        },
        "location": source.location(),
        "eventDateTime": utc(line.first_given_at),
        "responsible": line.vet,
    }


def _given(line: MedicineLine, source: Source) -> Json:
    medicine = {
        "name": line.medicine,
        "identifier": {"id": str(line.medicine_key), "scheme": source.scheme("medicine")},
    }
    batch = {"identifier": line.batch}
    if line.expires_on:
        batch["expiryDate"] = utc(datetime.combine(line.expires_on, time.max, tzinfo=UTC))
    return {
        "medicine": medicine,
        "procedure": line.route,
        **({"batches": [batch]} if line.batch else {}),
        "withdrawals": [withdrawal(each) for each in line.endings],
    }


def withdrawal(ending: Ending) -> Json:
    """Return one commodity's end: the first moment at which it may be sold, left out where it is unknown."""
    row = {"productType": PRODUCT[ending.commodity]}
    known = ending.clear_at is not None and ending.standing in (Standing.RUNNING, Standing.ENDED)
    return row | {"endDate": utc(ending.clear_at)} if known and ending.clear_at else row


def remark(line: MedicineLine) -> str:
    """Return what the fields of the standard cannot say, held produce without a date first."""
    parts = [f"{PRODUCT[each.commodity]}: {_open(each)}" for each in line.endings if _is_open(each)]
    parts.append(f"One dose: {line.dose_words}")
    if line.doses > 1:
        parts.append(f"last dose {utc(line.last_given_at)}")
    parts += [f"outside the label: {line.off_label_reason}"] if line.off_label_reason else []
    parts += [f"marks: {line.marks}"] if line.marks else []
    parts += [f"given by {line.given_by}"] if line.given_by else []
    parts += [f"corrects {line.corrects}"] if line.corrects else []
    parts += [f"never given: {line.never_given}"] if line.never_given else []
    return ". ".join(parts) + "."


def _is_open(ending: Ending) -> bool:
    return ending.standing == Standing.NOT_FOR_USE or ending.clear_at is None


def _open(ending: Ending) -> str:
    return FORBIDDEN if ending.standing == Standing.NOT_FOR_USE else NO_DATE
