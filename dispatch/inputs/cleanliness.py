"""How dirty a farm leaves a vet, and which farm nobody goes on from."""

from cases.models import BookedVisit, Call, DiseaseStatus, Location, VisitState
from cases.triage.floors import NOTIFIABLE_CODE
from cases.triage.soiling import SUSPECT, soiling_of
from dispatch.situation.load import Situation
from dispatch.situation.whereabouts import attended, ended_at
from rotas.models import Vet

OF_STATUS = {DiseaseStatus.CAUTION: 1, DiseaseStatus.RESTRICTED: 2, DiseaseStatus.STAND_OFF: SUSPECT}
"""What the standing of a farm leaves on boots, whatever the vet is called for [cp]."""


def is_suspect(job: Call | BookedVisit) -> bool:
    """Say whether a notifiable disease is suspected: the authority's word is needed for any farm after it."""
    said = isinstance(job, Call) and job.assessment.get("authority_directs_visit", False)
    return bool(said) or job.complaint == NOTIFIABLE_CODE


def soiling(job: Call | BookedVisit, farm: Location) -> int:
    """Return the dirtier of what the complaint and the farm's standing leave, 0 to 3."""
    if is_suspect(job):
        return SUSPECT
    return max(soiling_of(job.complaint), OF_STATUS.get(DiseaseStatus(farm.disease_status), 0))


def stands_off(situation: Situation, vet: Vet) -> str:
    """Return why a vet who has been on a suspect farm this duty goes to no other, or nothing.

    A person who has the authority's word sends the vet by hand.
    """
    duty = situation.duty_of(vet.pk)
    for visit in situation.visits_of(vet.pk):
        on_farm = visit.state == VisitState.ON_FARM
        left = visit.finished_at is not None and duty is not None and ended_at(visit) >= duty.starts_at
        if (on_farm or left) and visit.on_farm_at is not None and is_suspect(attended(visit)):
            farm = visit.location.name if visit.location else "a farm"
            return (
                f"{vet.name} has been at {farm}, where a notifiable disease is suspected: "
                "no other farm until the authority clears it."
            )
    return ""
