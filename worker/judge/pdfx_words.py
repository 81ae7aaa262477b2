"""What is said of the points in which a file departs from the PDF/X that it claims to be (ISO 15930)."""

from __future__ import annotations

from typing import NamedTuple


class Point(NamedTuple):
    """A point in which a file departs from PDF/X, by the subject of the standard’s clause; and what to set."""

    wrong: str
    set: str


PDFX_POINTS: dict[str, Point] = {
    "key-in-xmp": Point(
        "its version key stands in the Info dictionary and not in the XMP metadata (identification)",
        "GTS_PDFXVersion in the XMP metadata",
    ),
    "key-in-info": Point(
        "its version key stands in the XMP metadata and not in the Info dictionary (identification)",
        "GTS_PDFXVersion in the Info dictionary",
    ),
    "version": Point("its PDF version is later than the standard allows (PDF version)", "PDF {latest} or earlier"),
    "object-streams": Point(
        "its objects are compressed together, as from PDF 1.5 on (PDF version)", "no compressed object streams"
    ),
    "encryption": Point("it is encrypted (encryption)", "no password and no restrictions"),
    "actions": Point(
        "it has scripts, actions, media, forms or attachments (actions)", "no scripts, forms, media or attachments"
    ),
    "layers": Point("it has layers (optional content)", "no layers"),
    "trapped": Point(
        "the note “Trapped” says neither yes nor no (trapping)", "“Trapped” set to False, as it nearly always is"
    ),
    "title": Point("it has no title (document information)", "a title in the document’s properties"),
    "dates": Point(
        "it does not say when it was made and changed (document information)", "the dates of creation and change"
    ),
    "identifier": Point("it has no file identifier (document information)", "a file identifier (ID)"),
    "no-intent": Point("it names no press and paper (output intent)", "the colour profile that the printer names"),
    "several-intents": Point("it names several presses and papers (output intent)", "one output intent alone"),
    "condition": Point("its output intent names no press and paper (output intent)", "the press and paper named in it"),
    "profile": Point(
        "the colour profile of its output intent is not in the file (output intent)", "the output intent’s profile"
    ),
    "registry": Point(
        "its output intent has neither a profile nor the registry where the condition is found (output intent)",
        "the output intent’s profile or registry",
    ),
    "profile-class": Point(
        "the colour profile of its output intent is not for a press (output intent)",
        "the colour profile that the printer names",
    ),
    "no-cut": Point(
        "on {pages} neither TrimBox nor ArtBox says where the page is cut (page boxes)", "a TrimBox on every page"
    ),
    "two-cuts": Point("on {pages} there are both TrimBox and ArtBox (page boxes)", "a TrimBox and no ArtBox"),
    "nesting": Point(
        "on {pages} the boxes do not lie within each other (page boxes)", "TrimBox within BleedBox within MediaBox"
    ),
    "fonts": Point("on {pages} there is a font that is not embedded (fonts)", "all fonts embedded"),
    "colour": Point("on {pages} there is RGB or Lab (colour)", "all colours turned into grey, CMYK or spot colours"),
    "transparency": Point("on {pages} there is transparency (transparency)", "nothing that is seen through"),
    "compression": Point(
        "on {pages} there is a picture in a compression that is not allowed (compression)", "pictures as JPEG or ZIP"
    ),
    "annotations": Point(
        "on {pages} there are links or notes within the printed area (annotations)", "no links and no comments"
    ),
}

PDFX_NOT_LOOKED_AT = (
    "Tested is what can be seen here of {is_}; it is no full test of conformance. Not looked at: whether grey and four "
    "inks go by a colour profile (PDF/X-1a) and whether RGB has one (PDF/X-3, PDF/X-4), transparency groups of whole "
    "pages, transfer curves and halftones, OPI, PostScript, alternate pictures, compression other than that of "
    "pictures, where form fields stand, and whether the XMP metadata agree with the rest."
)
PDFX_UNKNOWN = "This version sees that the file says it is {is_}, and does not test what that asks."
