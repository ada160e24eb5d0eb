"""Gates and survey reports in the answer."""

from service.api.answers.words import TEXT, WHOLE, many, one_of, or_null, record, ref, text
from service.domain.layout.deck import Side, Swing
from service.domain.layout.survey_records import SurveyMethod

LENGTH = ref("PrintedLength")

SURVEYS = {
    "GateLeaf": record(
        "A gate with its leaf; its top is level with the guard.",
        name=TEXT,
        level=TEXT,
        edge=WHOLE,
        hinge_post=text("Post it hangs on."),
        latch_post=text("Post it latches to."),
        opening={**LENGTH, "description": "Clear between the faces of those posts."},
        leaf_width=LENGTH,
        leaf_height=LENGTH,
        swing=one_of(Swing, "In over the deck, or out."),
        hinge=one_of(Side, "Side it hangs on, seen by a person walking out through it."),
    ),
    "SurveyReport": record(
        "How well the tape readings of a level agree.",
        level=TEXT,
        method=one_of(SurveyMethod),
        misclosure={
            **or_null(LENGTH),
            "description": "Of sides, how far the last one ends from the start; of tapes, the "
            "largest standardised residual; null where nothing checks anything.",
        },
        precision={
            **or_null(WHOLE),
            "description": "n of 1 : n, the perimeter over the misclosure.",
        },
        residuals=many(ref("TapeResidual"), "One for each tape."),
    ),
    "TapeResidual": record(
        "How one tape agrees with the others.",
        tape=text("Its corners."),
        residual={**LENGTH, "description": "Taped minus adjusted."},
        standardised=or_null(LENGTH),
        off={
            **or_null(LENGTH),
            "description": "Taped minus what the other tapes alone make of it; null where "
            "no other tape checks it.",
        },
    ),
}
