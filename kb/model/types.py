"""Kinds of text that many values share."""

from typing import Annotated

from msgspec import Meta

ID_PATTERN = r"^[a-z0-9]+(-[a-z0-9]+)*$"
Id = Annotated[str, Meta(pattern=ID_PATTERN, max_length=80, description="Lower-case words joined by hyphens.")]
Line = Annotated[str, Meta(min_length=1, max_length=400, description="One line of text.")]
