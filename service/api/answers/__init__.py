"""What the answers look like, as JSON Schema for the OpenAPI document.

Answers are plain dicts written by orjson; these descriptions never touch them. The tests hold
every answer against them with unknown members refused, so the two cannot drift apart.
"""
