"""The forms of a page as a browser reads them, from the HTML alone."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

VOID_TYPES = {"submit", "button", "image", "reset", "file"}


@dataclass
class Field:
    """One named control, or the radio buttons and boxes of one name together."""

    name: str
    kind: str
    value: str = ""
    choices: list[str] = field(default_factory=list)
    required: bool = False
    figures: bool = False

    @property
    def is_written(self) -> bool:
        """Whether a person types it, so that it must not be lost."""
        return self.kind in ("text", "tel", "textarea", "datetime-local")

    @property
    def first_choice(self) -> str:
        """The first choice that says something."""
        return next((choice for choice in self.choices if choice), "")


@dataclass
class Form:
    """One form; `buttons` are the pressable ones with a name."""

    method: str
    action: str
    fields: dict[str, Field] = field(default_factory=dict)
    buttons: dict[str, list[str]] = field(default_factory=dict)

    def filled(self) -> dict[str, str]:
        """Return what would be sent as the page stands, required choices made and texts written."""
        said = {each.name: each.value or _sample(each) for each in self.fields.values()}
        said |= {name: values[0] for name, values in self.buttons.items()}
        return {name: value for name, value in said.items() if value and name != "csrfmiddlewaretoken"}

    @property
    def typed(self) -> list[Field]:
        """The fields that a person fills in."""
        hidden = ("csrfmiddlewaretoken", "key")
        return [each for each in self.fields.values() if each.name not in hidden]


def _sample(each: Field) -> str:
    if not each.required:
        return ""
    return each.first_choice if each.choices else "seen and said"


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.form: Form | None = None
        self.select: Field | None = None
        self.area: Field | None = None
        self.option: str | None = None
        self.alerts: list[str] = []
        self.depth_of_alert = 0

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        attrs = {name: value or "" for name, value in attributes}
        if self.depth_of_alert and tag not in ("input", "br"):
            self.depth_of_alert += 1
        elif attrs.get("role") == "alert":
            self.depth_of_alert = 1
            self.alerts.append("")
        if tag == "form":
            self.form = Form(attrs.get("method", "get").lower(), attrs.get("action", ""))
            self.forms.append(self.form)
        elif self.form is not None and attrs.get("name"):
            self._control(tag, attrs)
        elif tag == "option" and self.select is not None:
            self._option(attrs)

    def _control(self, tag: str, attrs: dict[str, Any]) -> None:
        assert self.form is not None
        name, kind = attrs["name"], attrs.get("type", "text") if tag == "input" else tag
        if tag == "button":
            self.form.buttons.setdefault(name, []).append(attrs.get("value", ""))
            return
        if kind in VOID_TYPES:
            return
        found = self.form.fields.setdefault(name, Field(name, kind))
        found.required = found.required or "required" in attrs
        found.figures = "inputmode" in attrs and attrs["inputmode"] != "tel"
        if kind in ("radio", "checkbox"):
            found.choices.append(attrs.get("value", "on"))
            found.value = attrs.get("value", "on") if "checked" in attrs else found.value
        elif tag == "input":
            found.value = attrs.get("value", "")
        self.select = found if tag == "select" else None
        self.area = found if tag == "textarea" else None

    def _option(self, attrs: dict[str, Any]) -> None:
        assert self.select is not None
        value = attrs.get("value", "")
        self.select.choices.append(value)
        if "selected" in attrs or (len(self.select.choices) == 1):
            self.select.value = value

    def handle_endtag(self, tag: str) -> None:
        if self.depth_of_alert:
            self.depth_of_alert -= 1
        if tag == "form":
            self.form = None
        elif tag == "select":
            self.select = None
        elif tag == "textarea":
            self.area = None

    def handle_data(self, data: str) -> None:
        if self.depth_of_alert:
            self.alerts[-1] += data
        if self.area is not None:
            self.area.value += data


def _read(html: str) -> _Reader:
    reader = _Reader()
    reader.feed(html)
    return reader


def forms_of(html: str, method: str = "post") -> list[Form]:
    """Return the forms of a page."""
    return [form for form in _read(html).forms if form.method == method]


def alerts_of(html: str) -> list[str]:
    """Return the sentences of the refusals on a page, blanks made single."""
    return [" ".join(alert.split()) for alert in _read(html).alerts if alert.strip()]
