"""The word to the farm that a treatment was written down by mistake. It names no date: others may hold."""

from datetime import datetime

from cases.models import NotGiven
from cases.services.farm_letters import letter_to_farm


def tell_never_given(void: NotGiven, morning: datetime) -> None:
    """Write to the farm for the next morning; the longer dates hold until then."""
    treatment = void.treatment
    whom = treatment.animal or treatment.group
    letter_to_farm(
        treatment.location,
        key=f"never-given:{void.pk}",
        subject=f"CORRECTION: {whom} was not given {treatment.medicine}",
        lines=[
            f"CORRECTION, signed by {void.signed_by}: {whom} was NOT given {treatment.medicine}.",
            "It was written down by mistake and holds nothing any more.",
            "Other medicines may still hold milk or meat: ask us for the dates before you sell.",
        ],
        not_before=morning,
        about_milk=True,
    )
