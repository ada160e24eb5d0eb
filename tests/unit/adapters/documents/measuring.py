"""Reads a drawing back: groups, paths and scales, as a person with a scale rule would."""

import re
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"
Point = tuple[float, float]


class Sheet:
    """A parsed SVG sheet; measures are real millimetres."""

    def __init__(self, svg: bytes) -> None:
        self.root = ElementTree.fromstring(svg)
        self.groups = {g.get("id"): g for g in self.root.iter(f"{SVG}g")}

    def ratio(self, heading: str) -> int:
        """The number after the colon of a part's scale."""
        title = self.groups[heading].find(f"{SVG}title").text
        return int(re.search(r"1:(\d+)", title)[1])

    def texts(self, group: str) -> list[str]:
        return [text.text for text in self.groups[group].iter(f"{SVG}text")]

    def title(self, group: str) -> str:
        return self.groups[group].find(f"{SVG}title").text

    def shapes(self, group: str, layer: str) -> list[list[Point]]:
        """Every stroke of a layer in a group, as points on paper within the group."""
        found = []
        for path in self.groups[group].iter(f"{SVG}path"):
            if path.get("class") == layer:
                found += strokes(path.get("d"))
        return found

    def shift(self, group: str) -> Point:
        found = re.match(r"translate\((\S+) (\S+)\)", self.groups[group].get("transform") or "")
        return (float(found[1]), float(found[2])) if found else (0.0, 0.0)


def strokes(data: str) -> list[list[Point]]:
    """Split path data of M, L, H, V and Z into lists of points."""
    found: list[list[Point]] = []
    for command, figures in re.findall(r"([MLHVZ])([^MLHVZ]*)", data):
        values = [float(figure) for figure in figures.split()]
        if command == "M":
            found.append([(values[0], values[1])])
        elif command == "L":
            found[-1].append((values[0], values[1]))
        elif command == "H":
            found[-1].append((values[0], found[-1][-1][1]))
        elif command == "V":
            found[-1].append((found[-1][-1][0], values[0]))
    return found


def centre(points: list[Point]) -> Point:
    return (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))


def overlap(one: tuple[Point, ...], other: tuple[Point, ...]) -> float:
    """How deep two convex shapes overlap, 0 or less if they are apart (separating axes)."""
    depth = float("inf")
    for shape in (one, other):
        for (x1, y1), (x2, y2) in zip(shape, (*shape[1:], shape[0]), strict=True):
            length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
            axis = ((y2 - y1) / length, (x1 - x2) / length)
            a = [x * axis[0] + y * axis[1] for x, y in one]
            b = [x * axis[0] + y * axis[1] for x, y in other]
            depth = min(depth, max(a) - min(b), max(b) - min(a))
    return depth
