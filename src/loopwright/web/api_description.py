"""The description of the API: what each address answers, by the published schemas of the answers."""

import json
from copy import deepcopy
from typing import Any

from fastapi import FastAPI

from loopwright.studies.answer_schemas import answers, shared_schemas
from loopwright.studies.answer_sheets import sheet_answers
from loopwright.web.wording import say

Data = dict[str, Any]

PROBLEMS = {
    "type": "object",
    "required": ["problems"],
    "properties": {
        "problems": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["field", "what", "remedy"],
                "properties": {
                    "field": {"type": "string", "description": say("api.problem.field")},
                    "what": {"type": "string", "description": say("api.problem.what")},
                    "remedy": {"type": "string", "description": say("api.problem.remedy")},
                },
            },
        },
        "asked": {"$ref": "#/components/schemas/considered", "description": say("api.problem.asked")},
    },
}


def responses(name: str, *faults: int, status: int = 200, title: str = "") -> Data:
    """What FastAPI is told of an address: what it answers, and how it says no.

    Args:
        name: of the answer.
        faults: statuses that it may answer with besides 401 and 503.
        status: of the answer.
        title: of the address, where that is not the name of the answer.
    """
    about = title or name
    said: dict[int | str, Data] = {
        status: {
            "description": say(f"api.says.{about}"),
            "content": {"application/json": {"schema": {"$ref": f"#/components/schemas/{name}"}}},
        }
    }
    for fault in dict.fromkeys((*faults, 401, 503)):
        said[fault] = {
            "description": say(f"api.fault.{fault}"),
            "content": {"application/json": {"schema": {"$ref": "#/components/schemas/problems"}}},
        }
    return {"responses": said, "summary": say(f"api.asks.{about}"), "description": say(f"api.says.{about}")}


def described(app: FastAPI) -> bytes:
    """The OpenAPI description, as JSON.

    Args:
        app: with its addresses.
    """
    document = deepcopy(app.openapi())
    schemas = document.setdefault("components", {}).setdefault("schemas", {})
    known = {**answers(), **sheet_answers()}
    for name, schema in shared_schemas().items():
        schemas.setdefault(name, schema)
    for name, answer in known.items():
        schemas[name] = answer.schema
    schemas["problems"] = PROBLEMS
    schemas.pop("HTTPValidationError", None)
    schemas.pop("ValidationError", None)
    text = json.dumps(document, ensure_ascii=False, separators=(",", ":"))
    return text.replace('"#/$defs/', '"#/components/schemas/').encode()
