"""What carries each post, and the block schedule, as plain dicts."""

from service.api.presenters.values import Json, angle, length, length_or_none, point
from service.domain.layout.framing import Block, FastenerLanding, PostSupport
from service.domain.layout.records import Layout
from service.spoken_lengths import all_in_units
from service.usecases.orders import Units


def present_supports(layout: Layout, units: Units) -> Json:
    """Give supports and blocks, both empty where no framing was taped."""
    return {
        "supports": [_support(support, units) for support in layout.supports],
        "blocks": [_block(block, layout, units) for block in layout.blocks],
    }


def _support(support: PostSupport, units: Units) -> Json:
    return {
        "post": support.post,
        "over": list(support.over),
        "blocks": list(support.blocks),
        "fasteners": [_fastener(landing, units) for landing in support.fasteners],
        "overhang": length(support.overhang_nm, units),
        "supported": support.supported,
        "notes": all_in_units(support.notes, units),
    }


def _fastener(landing: FastenerLanding, units: Units) -> Json:
    return {
        "number": landing.number,
        "at": point(landing.at, units),
        "timber": landing.timber,
        "edge": length(landing.edge_nm, units),
        "end": length_or_none(landing.end_nm, units),
        "holds": landing.holds,
    }


def _block(block: Block, layout: Layout, units: Units) -> Json:
    framing = next(level.framing for level in layout.deck.levels if level.name == block.level)
    return {
        "name": block.name,
        "level": block.level,
        "posts": list(block.posts),
        "between": list(block.between),
        "length": length(block.length_nm, units),
        "thickness": length(framing.block_thickness_nm, units) if framing else None,
        "depth": length(framing.block_depth_nm, units) if framing else None,
        "ends_deg": [angle(turned) for turned in block.end_deg],
        "plies": len(block.plies),
        "at": [point(at, units) for at in block.plies],
    }
