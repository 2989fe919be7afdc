"""Which kit a job uses up: a surgical kit goes to be sterilised and is no kit until then. Pure."""

from collections.abc import Collection, Iterable, Mapping

ONE_USE = frozenset({"surgical_kit_cattle", "surgical_kit_small"})
SURGERY = frozenset(
    {"caesar_cattle", "caesar_small", "abdominal_surgery_cattle", "abdominal_surgery_small", "rumen_surgery"}
)


def spent_kit(kit: Iterable[str], skills: Iterable[Mapping[str, object]]) -> frozenset[str]:
    """Return the kit that is used once the job is done.

    `skills` are needs as kept beside a call: ``{"any_of": [...], "preferred": bool}``. A surgical
    kit that only comes along, as to a calving, is not counted as used: the vet says so if it was.
    """
    if not any(_is_surgery(need) for need in skills):
        return frozenset()
    return ONE_USE & frozenset(kit)


def _is_surgery(need: Mapping[str, object]) -> bool:
    any_of = need.get("any_of")
    if need.get("preferred") or not isinstance(any_of, Collection) or not any_of:
        return False
    return set(any_of) <= SURGERY
