"""What a flag on a call means, as a sentence for whoever answers and whoever goes."""

from dataclasses import dataclass

PEOPLE_FIRST = "People first: nobody goes into slurry, a silo, deep water, or under a live cable."
UNBORN = (
    "Birth work can harm an unborn child. Anyone who is or may be pregnant does not handle the animal,"
    " the birth fluids or the clothes worn for it."
)
REPORTABLE = (
    "Suspected reportable disease: the law asks for a report on suspicion. Nothing moves on or off."
    " A vet speaks to the caller now."
)
NO_FOOD = (
    "Treated animals and their milk stay out of food until every medicine is past its date;"
    " the label, local law and the attending vet govern, and the strictest wins."
)

GENERAL_CAUTIONS = (
    "This is a helper's list, not a diagnosis. A vet decides. If you are worried, ring.",
    "This list is built from common practice, not tested standards."
    " Your practice should set its own numbers.",
)

FLAG_SENTENCES = {
    "biosecurity_last": "Make this the last farm of the round, or disinfect fully before the next.",
    "casualty_path": "Hoped-for use as food: ask the casualty slaughter questions before anything is given.",
    "confined_space": PEOPLE_FIRST,
    "consent_needed": "The owner has not agreed yet: find the person who may agree before the vet arrives.",
    "dangerous_animal": "Dangerous animal: nobody goes in alone or stands in front of it.",
    "dangerous_animal_if_nervous": "May turn dangerous if it is nervous: keep away from its head.",
    "discuss_euthanasia": "A vet should raise with the caller whether ending the suffering is kinder.",
    "electric": PEOPLE_FIRST + " Treat every cable and wet floor as live until the network says it is safe.",
    "fire_rescue": "The fire and rescue service leads. " + PEOPLE_FIRST,
    "ambulance": "A person is hurt or in danger: ring for an ambulance before anything else.",
    "police": "Ring the police: people on a road or railway, or a dog, are in danger.",
    "firearm": "A firearm or captive bolt may be used: keep people and other stock well away.",
    "food_safety": "Food safety: no milk and no stock leaves the farm until a vet has spoken.",
    "group_at_risk": "The whole group is at risk: ask what the others eat, drink and breathe.",
    "human_injury": "People get hurt with this one: ask about needles, kicks and crushes.",
    "kick_crush": "Kicking and crushing risk: sound handling and one way out for people.",
    "night_field": "May be in a field at night: ask for light, the gate and the last point of signal.",
    "not_eligible": "Not fit for the food chain as answered. A vet decides; welfare comes first.",
    "notifiable_possible": REPORTABLE,
    "police_or_authority": "Police or the authority may have to be told: note who was told and when.",
    "pregnant_staff_avoid": UNBORN,
    "public_health": "A person may be ill or at risk from this: they see a doctor and say which animals.",
    "report_authority": "May have to be reported to the authority: the vet checks and records it.",
    "residue_carcass": "The carcass may hold drug residue: it must not be eaten by anything.",
    "residue_risk": NO_FOOD,
    "slurry_gas": PEOPLE_FIRST + " If slurry is being mixed, everyone leaves the building.",
    "tell_vet": "Tell the vet what has already been given, how much and when.",
    "tetanus": "Tetanus risk: find the date of the last vaccine.",
    "unsafe_handling": "Handling is not safe as described: agree on a race and crush before the visit.",
    "zoonosis_abortion": "People can catch what causes this: gloves, and wash hands. " + UNBORN,
    "zoonosis_anthrax": "People can die of anthrax: touch nothing, open nothing, keep dogs away.",
    "zoonosis_erysipelas": "People can catch this through cuts: gloves.",
    "zoonosis_gut": "People can catch this: wash hands, keep children away.",
    "zoonosis_orf": "People can catch this through the skin: gloves.",
    "zoonosis_rabies_if_present": "Where rabies is present, no hands near the mouth.",
}


@dataclass(frozen=True)
class FlagNote:
    """One flag on this call. `question` gave it, or None when the complaint always carries it."""

    code: str
    sentence: str
    question: str | None = None


@dataclass(frozen=True)
class EmergencyService:
    """A service that the caller rings before the practice sends anybody."""

    code: str
    sentence: str


# In the order in which they are to be rung.
SERVICES = {
    "ambulance": EmergencyService(
        "ambulance", "Ambulance first: ring the emergency number, then ring us back."
    ),
    "fire_rescue": EmergencyService(
        "fire_rescue", "Fire and rescue first: ring the emergency number, then ring us back. Nobody goes in."
    ),
    "police": EmergencyService("police", "Ring the police, then ring us back."),
    "electric": EmergencyService(
        "electricity_network", "Ring the electricity network. Stay well clear until they say that it is safe."
    ),
}


def emergency_first(flags: frozenset[str]) -> tuple[EmergencyService, ...]:
    """Return the services to ring before the vet goes, in order."""
    return tuple(service for flag, service in SERVICES.items() if flag in flags)
