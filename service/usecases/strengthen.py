"""Changes that may cure a check of the structure that is over: stronger, thicker, closer, more.

Which of them does, and by how little, is found by screening the changed job (see ``advise``).
"""

from collections.abc import Iterator, Mapping

from service.domain.structure.rail_checks import BS_6180_MOVEMENT
from service.usecases import cures_fixings as fixing
from service.usecases import cures_members as member
from service.usecases.remedy import Job, Remedy
from service.usecases.weakness import Cure, Weakness


def remedies_for_check(weak: Weakness, job: Job) -> list[Remedy]:
    """Give what may cure a check of the structure, the least change of the job first."""
    if job.spec is None:
        return []
    return [remedy for cure in _CURES.get(weak.name, ()) for remedy in cure(job, weak)]


def _closer_for_spread_loads(job: Job, weak: Weakness) -> Iterator[Remedy]:
    """Set posts closer where that takes load off each of them."""
    if weak.spread:
        yield from member.spans(job, weak)


_OF_RAIL = (member.alloys("top_rail"), member.walls("top_rail"), member.spans)
_OF_PICKET = (member.alloys("picket"), member.walls("picket"))
_TENSION = (fixing.plates, fixing.rows, _closer_for_spread_loads)
_CURES: Mapping[str, tuple[Cure, ...]] = {
    "post bending": (
        member.alloys("post"),
        member.walls("post"),
        member.post_sizes,
        _closer_for_spread_loads,
    ),
    "top rail bending, outward": _OF_RAIL,
    "top rail bending, downward": _OF_RAIL,
    BS_6180_MOVEMENT: (
        member.walls("top_rail"),
        member.walls("post"),
        member.post_sizes,
        member.spans,
    ),
    "picket bending, whole load on one": _OF_PICKET,
    "picket bending, share of the load": _OF_PICKET,
    "infill rail bending": (
        member.alloys("infill_rail"),
        member.walls("infill_rail"),
        member.spans,
    ),
    "base plate bearing": (fixing.plates, _closer_for_spread_loads),
    "lag screw withdrawal": (fixing.lengths, fixing.diameters, *_TENSION),
    "lag screw penetration": (fixing.lengths,),
    "lag screw root tension": (fixing.diameters, *_TENSION),
    "lag screw, pull and shear together": (fixing.lengths, fixing.diameters, *_TENSION),
    "bolt tension": (fixing.diameters, *_TENSION),
    "washer on timber": (fixing.washers, *_TENSION),
    "rated fastener": (fixing.ratings, *_TENSION),
    "anchors in the slab": (fixing.ratings, *_TENSION),
    "fastener spacing": (fixing.plates, fixing.rows),
    "edge distance": (fixing.edges("edge"),),
    "end distance": (fixing.edges("end"),),
    "rim held against rotation": (fixing.rims,),
}
