"""What an elevation says in sentences beside its picture."""

from collections.abc import Sequence

from service.adapters.documents.elevation_page import Elevation
from service.adapters.documents.infill_drawing import infill_fact
from service.adapters.documents.plan_geometry import unit
from service.adapters.documents.plan_page import shortened
from service.domain.layout.system import Assembly


def facts(elevation: Elevation) -> list[str]:
    """Say in sentences what the picture cannot show."""
    section, row = elevation.section, elevation.section.pickets

    def printed(length_nm: int) -> str:
        return elevation.printed(length_nm).replace(" ", "\u00a0")  # kept on one line

    said = [f"Run {section.run}, level {shortened(elevation.run.level)}, {seen_from(elevation)}."]
    rails = []
    for place in ("top", "bottom"):
        lengths = [printed(rail.length_nm) for rail in section.rails if rail.place == place]
        if lengths:
            rails.append(f"{place} rail {_counted(lengths)}")
    if rails:
        said.append(f"{'; '.join(rails)}.".capitalize())
    if row.centres_nm:
        removed = f", {len(row.removed_nm)} removed (crossed)" if row.removed_nm else ""
        said.append(
            f"{picket_spacing(elevation)}, {printed(row.length_nm)} long{removed}; "
            f"middle on a {row.centred_on}."
        )
    if section.infill is not None:
        said.append(infill_fact(section, printed))
    joints = []
    for end in (section.start, section.end):
        angle = f" at {abs(end.angle_deg):.1f}°" if abs(end.angle_deg) > 0.05 else ""
        joints.append(f"{end.post} {end.joint}{angle}")
    carries = ""
    if section.carries and elevation.layout.system.assembly is Assembly.PREFABRICATED:
        carries = f"; carries {', '.join(section.carries)}"
    said.append(f"Joints: {', '.join(joints)}{carries}.")
    return said


def _counted(lengths: Sequence[str]) -> str:
    r"""Join lengths, equal ones counted: "2 × 3' 0\", 1' 6\""."""
    counts: dict[str, int] = {}
    for length in lengths:
        counts[length] = counts.get(length, 0) + 1
    return ", ".join(f"{n} × {text}" if n > 1 else text for text, n in counts.items())


def seen_from(elevation: Elevation) -> str:
    """Tell on which side the viewer stands, the start post being on the left."""
    start, end = (
        elevation.posts[e.post].at for e in (elevation.section.start, elevation.section.end)
    )
    along, outward = unit(start, end), elevation.outward
    outside = along[1] * outward[0] - along[0] * outward[1] > 0
    inside = "the stair" if elevation.run.stair else "the deck"
    return "seen from outside" if outside else f"seen from {inside}"


def picket_spacing(elevation: Elevation) -> str:
    """Count a section's pickets and give their pitch."""
    row = elevation.section.pickets
    count = len(row.centres_nm)
    if count + len(row.removed_nm) < 2:
        return f"{count} picket"
    return f"{count} pickets at {elevation.printed(row.pitch_nm)}"
