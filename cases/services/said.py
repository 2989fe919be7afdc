"""Words that somebody must say."""

from rotas.errors import BadInput


def required(text: str, field: str, problem: str) -> str:
    """Return the text without the blanks around it, or refuse an empty one."""
    text = text.strip()
    if not text:
        raise BadInput(field=field, problem=problem)
    return text
