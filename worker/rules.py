"""The rules by which a file is judged: their stable ids, their groups and what they weigh by default.

The ids are public: a report names them, and a printer profile may weigh them otherwise. Light: no library.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

DefaultWeight = Literal["refusal", "spoilage", "polish"]

R: DefaultWeight = "refusal"
S: DefaultWeight = "spoilage"
P: DefaultWeight = "polish"

GROUPS: dict[str, dict[str, DefaultWeight]] = {
    "file": {
        "damaged-file": R,
        "encrypted": R,
        "active-content": R,
        "pdf-version": R,
        "pdfx-conformance": R,
        "file-size": R,
        "layers": P,
        "document-title": P,
    },
    "page": {
        "trim-size": R,
        "mixed-page-sizes": R,
        "page-count": R,
        "bleed-missing": R,
        "bleed-short": S,
        "page-boxes": S,
        "page-rotation": S,
        "page-multiple": P,
    },
    "live area": {
        "inside-margin": R,
        "outside-margin": R,
        "head-margin": R,
        "foot-margin": R,
        "mirrored-margins": S,
    },
    "type": {
        "font-not-embedded": R,
        "font-restricted": S,
        "missing-glyph": S,
        "small-type": S,
        "font-type3": P,
    },
    "image": {
        "image-resolution": R,
        "line-art-resolution": S,
        "image-oversampled": P,
    },
    "colour": {
        "ink-coverage": R,
        "transparency": R,
        "output-intent": R,
        "colour-space": S,
        "rich-black-text": S,
        "thin-rule": S,
    },
    "blank": {
        "blank-run": S,
        "blank-first": S,
        "blank-end": P,
    },
    "link": {
        "link-annotation": S,
        "other-annotation": S,
    },
    "book": {
        "contents-page-number": S,
        "folio-order": S,
        "folio-parity": S,
        "chapter-on-verso": P,
        "first-folio": P,
        "folio-on-blank": P,
        "contents-missing-entry": P,
        "sinkage": P,
        "front-matter-order": P,
        "running-head": P,
        "uneven-text-block": P,
        "widow": P,
        "orphan": P,
    },
    "cover": {
        "cover-size": R,
        "spine-width": R,
        "cover-live-area": R,
        "isbn": R,
        "spine-text": S,
        "barcode": S,
    },
}


class RuleFacts(NamedTuple):
    """What is known of a rule before it is tried."""

    group: str
    weight: DefaultWeight


RULES: dict[str, RuleFacts] = {
    rule: RuleFacts(group, weight) for group, rules in GROUPS.items() for rule, weight in rules.items()
}
