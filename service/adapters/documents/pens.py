"""Our own line weights on paper and dashes; only black, so that any printer does."""

from service.adapters.documents.primitives import Layer

# Weight and dashes, both in millimetres.
PENS: dict[Layer, tuple[float, tuple[float, ...]]] = {
    Layer.DECK: (0.6, ()),
    Layer.UNGUARDED: (0.4, (0.4, 1.6)),
    Layer.WALL: (0.3, ()),
    Layer.EXISTING: (0.3, (1.6, 1.0)),
    Layer.STAIR: (0.25, ()),
    Layer.NOSING: (0.25, (4.0, 0.8, 0.8, 0.8)),
    Layer.POST: (0.5, ()),
    Layer.STANDING_POST: (0.25, ()),
    Layer.RAIL: (0.35, ()),
    Layer.PICKET: (0.18, ()),
    Layer.INFILL: (0.2, ()),
    Layer.REMOVED: (0.25, (0.8, 0.6)),
    Layer.SUPPORT: (0.3, ()),
    Layer.GATE: (0.4, (3.0, 1.2)),
    Layer.HANDRAIL: (0.3, ()),
    Layer.DIMENSION: (0.15, ()),
    Layer.MARK: (0.35, ()),
    Layer.LETTERING: (0.2, ()),
    Layer.FRAME: (0.4, ()),
}
