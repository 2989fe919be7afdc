"""Short codes by which a farm names a check in a text message, such as "1 K4T".

The last sign is a check sign: one sign read or typed wrongly gives no other check's code. Signs that are
easily taken for each other (0 O, 1 I L, 5 S, 8 B) are left out.
"""

SIGNS = "2346789ACDEFGHJKMNPQRTUVWXY"  # 27 signs
_WEIGHTS = (1, 2, 4, 5, 7, 8, 10, 11, 13, 14, 16, 17)  # none shares a factor with 27


def code_of(number: int) -> str:
    """Return the code of a row's key, which is above zero."""
    if number < 1:
        raise ValueError("keys start at 1")
    digits: list[int] = []
    while number:
        number, rest = divmod(number, len(SIGNS))
        digits.append(rest)
    return "".join(SIGNS[digit] for digit in reversed(digits)) + SIGNS[_check(digits)]


def number_of(code: str) -> int | None:
    """Return the key that a code names, None for what is no code of ours."""
    signs = code.strip().upper()
    if not 2 <= len(signs) <= len(_WEIGHTS) or any(sign not in SIGNS for sign in signs):
        return None
    digits = [SIGNS.index(sign) for sign in reversed(signs[:-1])]
    number = sum(digit * len(SIGNS) ** place for place, digit in enumerate(digits))
    return number if number >= 1 and SIGNS[_check(digits)] == signs[-1] and digits[-1] else None


def _check(digits: list[int]) -> int:
    """Return the check digit of digits, the lowest first."""
    weighted = (digit * _WEIGHTS[place] for place, digit in enumerate(digits))
    return sum(weighted) % len(SIGNS)
