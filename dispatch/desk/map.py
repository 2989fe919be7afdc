"""The map as GeoJSON (RFC 7946): farms with open calls, vets on duty, the practice."""

from collections.abc import Iterator
from typing import Any

from cases.models import Call
from dispatch.desk.vets import state_words
from dispatch.desk.view import View
from dispatch.inputs.needs import complaint_name
from dispatch.situation.whereabouts import Doing
from rotas.models import Vet

Feature = dict[str, Any]


def map_features(view: View) -> dict[str, Any]:
    """Return one collection; nobody off duty is ever in it."""
    features = [_base(view), *(f for call in view.in_order for f in _call(call)), *_vets(view)]
    return {"type": "FeatureCollection", "features": features}


def _point(longitude: float, latitude: float, **properties: object) -> Feature:
    point = {"type": "Point", "coordinates": [round(longitude, 6), round(latitude, 6)]}
    return {"type": "Feature", "geometry": point, "properties": properties}


def _base(view: View) -> Feature:
    practice = view.situation.practice
    return _point(practice.base_longitude, practice.base_latitude, kind="practice", label=practice.name)


def _call(call: Call) -> Iterator[Feature]:
    farm = call.location
    if farm is not None:
        yield _point(
            farm.longitude,
            farm.latitude,
            kind="call",
            call=call.pk,
            number=call.number,
            farm=farm.name,
            urgency=call.urgency,
            urgency_words=call.get_urgency_display(),
            label=f"{complaint_name(call)}, {farm.name}",
        )


def _vets(view: View) -> Iterator[Feature]:
    for vet in view.situation.vets:
        if view.situation.on_duty(vet.pk) or view.where[vet.pk].visit is not None:
            longitude, latitude = _whereabouts(view, vet)
            label = f"{vet.name}: {state_words(view, vet)}"
            yield _point(longitude, latitude, kind="vet", vet=vet.pk, name=vet.name, label=label)


def _whereabouts(view: View, vet: Vet) -> tuple[float, float]:
    here = view.where[vet.pk]
    if here.farm is not None:
        return here.farm.longitude, here.farm.latitude
    if here.doing == Doing.AT_PRACTICE:
        return view.situation.practice.base_longitude, view.situation.practice.base_latitude
    return vet.home_longitude, vet.home_latitude
