"""Every element of a layout that part and labour rules may count; ``kinds`` names them."""

from collections import Counter
from collections.abc import Iterator, Mapping

from service.domain.layout.deck import Opening, OpeningKind
from service.domain.layout.framing import Block
from service.domain.layout.gate_records import Gate
from service.domain.layout.records import Layout, Run, Section, StairPlan
from service.domain.takeoff.handrail_elements import handrail_elements
from service.domain.takeoff.infill_elements import cable_elements, infill_elements
from service.domain.takeoff.joint_elements import Joined, joints_of
from service.domain.takeoff.kinds import Element, thousandths, yes
from service.domain.takeoff.post_elements import post_elements


def elements_of(layout: Layout) -> tuple[Element, ...]:
    """List everything in a layout that a part or labour rule may count.

    Args:
        layout: The laid-out job.

    Returns:
        Posts in their order, then each section with its rails, infill, joints and legs, then
        cables, runs, handrails, blocks, gates, stairs and the deck.
    """
    elements = post_elements(layout)
    joined = Joined(layout)
    for section in layout.sections:
        elements.extend(_of_section(section, joined))
    elements.extend(cable_elements(layout))
    elements.extend(_run(run) for run in layout.runs)
    elements.extend(handrail_elements(layout))
    elements.extend(_block(block) for block in layout.blocks)
    elements.extend(_gates(layout))
    elements.extend(_stair(stair) for stair in layout.stairs)
    elements.append(Element("deck", "deck", {}))
    return tuple(elements)


def _raked(raked: bool) -> dict[str, str]:
    return {"raked": yes(raked)}


def _run(run: Run) -> Element:
    known = {} if run.fall_height_nm is None else {"fall_height": run.fall_height_nm}
    raked = _raked(run.rake is not None)
    return Element("run", run.name, raked, length_nm=run.length_nm, others=known)


def _stair(stair: StairPlan) -> Element:
    rake = {"rake_deg": thousandths(stair.rake.angle_deg)}
    return Element("stair", stair.name, {"bottom": stair.bottom.value}, others=rake)


def _of_section(section: Section, joined: Joined) -> Iterator[Element]:
    raked = _raked(section.rake is not None)
    name = section.name
    yield Element("section", name, raked, length_nm=section.length_nm, section=name)
    for rail in section.rails:
        attributes = {"place": rail.place, **raked}
        saw = {"saw_deg": thousandths(rail.saw_deg)}
        yield Element("rail", rail.name, attributes, 1, rail.length_nm, name, rail, others=saw)
    row = section.pickets
    if row.centres_nm:
        yield Element("picket", f"{name} pickets", raked, len(row.centres_nm), row.length_nm, name)
    yield from infill_elements(section)
    yield from joints_of(section, joined)
    yield from _support_legs(section, raked)


def _support_legs(section: Section, raked: Mapping[str, str]) -> Iterator[Element]:
    """Give the legs of a section, those of one height together."""
    heights = Counter(section.support_leg_heights_nm)
    for number, (height_nm, count) in enumerate(heights.items(), 1):
        name = f"{section.name} support legs" + (f" {number}" if len(heights) > 1 else "")
        yield Element("support_leg", name, raked, count, height_nm, section.name)


def _block(block: Block) -> Element:
    ends = "angled" if any(block.end_deg) else "square"
    return Element("block", block.name, {"ends": ends}, len(block.plies), block.length_nm)


def _gates(layout: Layout) -> Iterator[Element]:
    """Give every gate, with the size of its leaf where the system describes gates."""
    hung = {(gate.level, gate.edge, gate.name): gate for gate in layout.gates}
    for level in layout.deck.levels:
        for edge in level.edges:
            for opening in edge.openings:
                if opening.kind is OpeningKind.GATE:
                    gate = hung.get((level.name, edge.number, opening.name))
                    yield _gate(opening, gate)


def _gate(opening: Opening, gate: Gate | None) -> Element:
    how = {"swing": opening.swing.value, "hinge": opening.hinge.value}
    if gate is None:
        return Element("gate", opening.name, how, length_nm=opening.width_nm)
    leaf = {"leaf_width": gate.leaf_width_nm, "leaf_height": gate.leaf_height_nm}
    return Element("gate", opening.name, how, length_nm=gate.opening_nm, others=leaf)
