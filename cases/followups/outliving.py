"""What is still owed after the animal has died or was sold [cp].

Most checks end with their animal. Those that are about a carcass, people's milk, an authority or the
rest of the herd do not, nor does a result that a laboratory still owes.
"""

from cases.followups.templates import Who

OUTLIVE_THE_ANIMAL = frozenset(
    {
        "fu_abortion",
        "fu_adverse",
        "fu_euthanasia",
        "fu_food_chain",
        "fu_notifiable",
        "fu_outbreak",
        "fu_residue",
        "fu_sudden_death",
        "fu_tb_reading",
    }
)


def outlives(template: str, who: str) -> bool:
    """Say whether a step of this template is owed although its animal is gone."""
    return template in OUTLIVE_THE_ANIMAL or who == Who.LAB.value
