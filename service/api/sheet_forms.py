"""How the forms of sheets are described: two parts, a CSV and the settings beside it."""

from typing import Any

import orjson

from service.api.examples import example_request

FORM = "multipart/form-data"
_SETTINGS = {key: value for key, value in example_request("quote").items() if key != "deck"}
_EDGES = (
    "kind,length,turn,fall_height,unit,name,width,offset,risers,unit_run\r\n"
    "stair,20,90,4.1,ft,garden stair,4,12,7,10 in\r\n"
    "open,8,90,4.1,ft,,,,,\r\n"
    "wall,20,90,,ft,,,,,\r\n"
    "open,8,90,4.1,ft,,,,,\r\n"
)
EDGES_FORM: dict[str, Any] = {
    "required": True,
    "content": {
        FORM: {
            "schema": {
                "title": "QuoteSheet",
                "type": "object",
                "required": ["edges", "settings"],
                "properties": {
                    "edges": {
                        "type": "string",
                        "description": "CSV with a heading row and one row for each edge, in order "
                        "round each level: kind, length and turn or x and y, level, fall_height, "
                        "guard, offset, name, width, swing, hinge, sagitta; for a stair also "
                        "total_rise, risers, unit_run, nosing, open_sides, bottom. Bare numbers "
                        "are in the unit of the column unit.",
                    },
                    "settings": {
                        "type": "string",
                        "description": "A quote's request as JSON, without its deck.",
                    },
                },
            },
            "examples": {
                "demo": {
                    "summary": "Four edges, one with a stair",
                    "value": {"edges": _EDGES, "settings": orjson.dumps(_SETTINGS).decode()},
                }
            },
        }
    },
}
TAKEOFF_FORM: dict[str, Any] = {
    "required": True,
    "content": {
        FORM: {
            "schema": {
                "title": "TakeoffSheet",
                "type": "object",
                "required": ["takeoff", "settings"],
                "properties": {
                    "takeoff": {
                        "type": "string",
                        "description": "CSV with a heading row and one row for each part or task, "
                        "as GET /v1/quotes/{id}/takeoff.csv gives it: kind, description, ordered "
                        "and unit_of_measure, goods also sku.",
                    },
                    "settings": {
                        "type": "string",
                        "description": "price_table and pricing of a quote's request as JSON, with "
                        "on and units if need be.",
                    },
                },
            },
            "examples": {
                "demo": {
                    "summary": "Two parts and an hour",
                    "value": {
                        "takeoff": "kind,sku,description,ordered,unit_of_measure\r\n"
                        "goods,LK-P40,Level post,3,C62\r\ngoods,LK-CAP,Post cap,3,C62\r\n"
                        "labour,,Set posts,1.5,HUR\r\n",
                        "settings": orjson.dumps(
                            {key: _SETTINGS[key] for key in ("price_table", "pricing")}
                        ).decode(),
                    },
                }
            },
        }
    },
}
