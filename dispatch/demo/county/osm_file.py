"""Writing the county as OpenStreetMap XML (API 0.6), which road software reads as it is."""

from xml.sax.saxutils import quoteattr

from dispatch.demo.county.build import WHERE, County
from dispatch.demo.county.land import Xy, to_degrees
from dispatch.demo.county.plan import RIVER, SETTLEMENTS


def osm_xml(county: County) -> str:
    """Return the whole file: nodes, then ways, numbered from 1."""
    body = _Body()
    numbers = {node: body.node(xy, {}) for node, xy in sorted(county.draft.at.items())}
    for place in SETTLEMENTS:
        body.node(county.settlement_point(place.at), {"place": place.kind, "name": place.name})
    for way in county.draft.ways:
        body.way([numbers[node] for node in way.nodes], way.tags)
    body.way([body.node(xy, {}) for xy in county.river], {"waterway": "river", "name": RIVER})
    return body.text()


class _Body:
    """Collects elements; ids are positions, so that the file is the same every time."""

    def __init__(self) -> None:
        self.nodes: list[str] = []
        self.ways: list[str] = []

    def node(self, xy: Xy, tags: dict[str, str]) -> int:
        number = len(self.nodes) + 1
        lat, lon = to_degrees(*xy)
        head = f'<node id="{number}" version="1" lat="{lat:.7f}" lon="{lon:.7f}"'
        inside = "".join(_tag(*tag) for tag in tags.items())
        self.nodes.append(f"{head}>{inside}</node>" if inside else f"{head}/>")
        return number

    def way(self, nodes: list[int], tags: dict[str, str]) -> None:
        refs = "".join(f'<nd ref="{node}"/>' for node in nodes)
        inside = "".join(_tag(*tag) for tag in tags.items())
        self.ways.append(f'<way id="{len(self.ways) + 1}" version="1">{refs}{inside}</way>')

    def text(self) -> str:
        head = ['<?xml version="1.0" encoding="UTF-8"?>', f"<!-- {WHERE} -->"]
        head.append('<osm version="0.6" generator="dispatch.demo.county">')
        return "\n".join([*head, *self.nodes, *self.ways, "</osm>", ""])


def _tag(key: str, value: str) -> str:
    return f"<tag k={quoteattr(key)} v={quoteattr(value)}/>"
