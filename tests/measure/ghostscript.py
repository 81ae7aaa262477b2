"""Where Ghostscript draws on a page, and what it lays on the plates."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

from PIL import Image, ImageStat

_QUIET = ["gs", "-q", "-dBATCH", "-dNOPAUSE", "-dSAFER"]


def bounding_box(file: Path) -> tuple[float, ...]:
    """The box of all that it draws on page 1, in points from the corner of the media (device ``bbox``)."""
    said = subprocess.run([*_QUIET, "-sDEVICE=bbox", "-dLastPage=1", file], check=True, capture_output=True, text=True)
    line = next(line for line in said.stderr.splitlines() if line.startswith("%%HiResBoundingBox:"))
    return tuple(map(float, line.split()[1:]))


def black_plate(file: Path) -> float:
    """How much of page 1 the plate of black covers, in percent (device ``tiffsep``, which has plates for spot inks)."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "page.tif"
        subprocess.run([*_QUIET, "-sDEVICE=tiffsep", "-r36", "-o", out, file], check=True, capture_output=True)
        with Image.open(Path(folder) / "page(Black).tif") as plate:
            return 100 - ImageStat.Stat(plate.convert("L")).mean[0] / 2.55


def heaviest(file: Path, ppi: int = 72) -> float:
    """The highest sum of four inks at one pixel of page 1, in percent, by a rendering in CMYK."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "page.tif"
        device = ["-sDEVICE=tiff32nc", f"-r{ppi}", "-dGraphicsAlphaBits=1", "-dTextAlphaBits=1"]
        subprocess.run([*_QUIET, *device, "-o", out, file], check=True, capture_output=True)
        with Image.open(out) as page:
            inks = iter(page.convert("CMYK").tobytes())
            return max(map(sum, zip(inks, inks, inks, inks, strict=True))) / 2.55
