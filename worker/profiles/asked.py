"""What a profile may ask of any PDF, interior or cover: its pictures, its colours, the file itself."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, StrictBool, model_validator

from worker.profiles.fields import PDFX_LEVELS, Amount, FileSize, PdfVersion, PdfxLevel, Percent, Side, at_most


class Asked(BaseModel):
    """A part of a profile: plain, unchanging, and strict about its keys."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Images(Asked):
    """Effective resolution in pixels an inch: below ``least_ppi`` a refusal, below ``wanted_ppi`` spoilage."""

    least_ppi: Amount | None = None
    wanted_ppi: Amount | None = None
    line_art_ppi: Amount | None = None
    most_ppi: Amount | None = None

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        steps = [(name, value) for name in ("least_ppi", "wanted_ppi", "most_ppi") if (value := getattr(self, name))]
        for (lower, less), (higher, more) in pairwise(steps):
            if less > more:
                raise ValueError(f"{lower} ({less:g}) is more than {higher} ({more:g})")
        return self


class Colour(Asked):
    """``most_ink`` is the sum of all inks at one spot, in percent."""

    spaces: Annotated[tuple[Literal["gray", "cmyk", "rgb", "spot"], ...], Field(min_length=1, max_length=4)] | None = (
        None
    )
    most_ink: Percent | None = None
    least_rule: Side | None = None
    transparency: StrictBool | None = None


class FileAsked(Asked):
    """``pdf_versions`` is the least and the most; any one of ``pdfx`` is enough."""

    pdf_versions: tuple[PdfVersion, PdfVersion] | None = None
    pdfx: Annotated[tuple[PdfxLevel, ...], at_most(len(PDFX_LEVELS)), Field(max_length=len(PDFX_LEVELS))] = ()
    most_bytes: FileSize | None = None
    encryption: StrictBool | None = None

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.pdf_versions is not None and self.pdf_versions[0] > self.pdf_versions[1]:
            raise ValueError("pdf_versions must give the least first and the most second")
        return self
