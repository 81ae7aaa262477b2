"""All that a finding says to a person, in one place: what is wrong, what it does to the book, what to set.

``{…}`` are a draft's facts. A rule with several forms has a text each.
"""

from __future__ import annotations

from typing import NamedTuple


class Words(NamedTuple):
    title: str
    detail: str
    effect: str
    remedy: str


EXPORT_AGAIN = "Export the PDF again from the program that set the book, and check the new file."

STRAY = (
    "Bring what stands out on {pages} back to {asked} at least: a line too long, a note, a folio. "
    "The margin of the other pages is wide enough."
)

WORDS: dict[tuple[str, str], Words] = {
    ("damaged-file", "unreadable"): Words(
        "The file is damaged",
        "No reader can open the file ({reason}).",
        "The printer cannot open it either.",
        EXPORT_AGAIN,
    ),
    ("damaged-file", "repaired"): Words(
        "The file is damaged",
        "The file opens only after repair ({reason}).",
        "One program may repair it well and the next may lose pages or refuse it.",
        EXPORT_AGAIN,
    ),
    ("encrypted", "password"): Words(
        "The file is locked with a password",
        "The file opens only with a password, so nothing in it could be measured.",
        "The printer cannot open it.",
        "Export the PDF again without a password.",
    ),
    ("encrypted", "open"): Words(
        "The file is encrypted",
        "The file opens without a password but is encrypted.",
        "Many printers turn encrypted files away, since their programs may not change them.",
        "Export the PDF again without any security setting.",
    ),
    ("file-size", ""): Words(
        "The file is larger than this printer takes",
        "The file has {is_}; at most {asked} are taken.",
        "The upload is turned away.",
        "Export again with pictures at the resolution that the printer wants and no more.",
    ),
    ("trim-size", ""): Words(
        "The pages are of a size that this printer does not trim to",
        "The trimmed page measures {is_}; the closest size on offer is {asked}.",
        "The printer refuses the file, or scales it, and with it every margin.",
        "Set the paper size to {asked} and export again.",
    ),
    ("trim-size", "lying"): Words(
        "The pages lie on their side",
        "The trimmed page measures {is_}, wider than high; the size on offer is {asked}.",
        "The printer refuses the file, or turns the book on its side.",
        "Set the paper size to {asked}, upright, and export again.",
    ),
    ("mixed-page-sizes", ""): Words(
        "Some pages are of another size",
        "Most pages measure {usual}; page {where} measures {is_}.",
        "All leaves of a book are cut to one size: these pages are refused, scaled or cut.",
        "Give {pages} the same paper size as the others, {usual}.",
    ),
    ("page-count", "few"): Words(
        "The book is too short for this printer",
        "It has {has} pages; at least {limit} are asked.",
        "So thin a block cannot be bound this way.",
        "Reach {limit} pages, or choose another binding or printer.",
    ),
    ("page-count", "many"): Words(
        "The book is too long for this printer",
        "It has {has} pages; at most {limit} are taken at this size.",
        "So thick a block cannot be bound this way.",
        "To come to fewer pages, {larger}set the type smaller or closer, or divide the book into volumes.",
    ),
    ("page-multiple", ""): Words(
        "The page count does not fill the sheets",
        "{has} pages are no multiple of {multiple}: {added} will be added to reach {full}.",
        "The book ends with {added} that nobody set.",
        "Bring the book to {full} pages, or accept {added} at the end.",
    ),
    ("page-boxes", "no-trim"): Words(
        "The page is larger than the trim, and does not say where it is cut",
        "Page {where} measures {is_}: that is {asked} and {beyond} beyond it, and no TrimBox says where it is cut.",
        "The border may be taken for part of the page, and the printer refuses the size or cuts elsewhere. "
        "The margins of this report are measured from where the file leaves the edge.",
        "Export with a TrimBox of {asked}, or set the paper size to just that; then check the new file.",
    ),
    ("page-boxes", "bleed-box"): Words(
        "The BleedBox cuts the bleed off",
        "On {pages} the page goes on for the bleed that is asked, {asked}, and the BleedBox ends before it.",
        "Many programs keep no more than the BleedBox: a white sliver may show at the edge.",
        "Export with a BleedBox {asked} larger than the trimmed page on every side.",
    ),
    ("page-rotation", ""): Words(
        "Some pages are turned",
        "Page {where} is shown upright only by a turn of {degrees} degrees that the file asks for.",
        "A printer's programs may ignore the turn: the page then prints on its side.",
        "Set {pages} upright in the program that set the book, and export again.",
    ),
    ("bleed-missing", ""): Words(
        "Ink reaches the edge, and there is no bleed",
        "On {pages} something is printed up to the trimmed edge, and the file has no area beyond it; {asked} is asked.",
        "Cutting is never exact: a white sliver shows at the edge.",
        "Export with a bleed of {asked} and let pictures and grounds run into it; or keep all ink inside the page.",
    ),
    ("bleed-missing", "always"): Words(
        "The pages have no bleed",
        "This printer wants bleed on every page; {pages} have no area beyond the trimmed edge. {asked} is asked.",
        "The file is refused, or scaled up to make a bleed, and with it every margin.",
        "Export with a bleed of {asked} on every page.",
    ),
    ("bleed-missing", "never"): Words(
        "Ink reaches the edge, and this printer prints no bleed",
        "On {pages} something is printed up to the trimmed edge or past it.",
        "The printer refuses it, or cutting leaves a white sliver at the edge.",
        "Keep pictures and grounds inside the page, or choose a printer that takes bleed.",
    ),
    ("bleed-short", ""): Words(
        "The bleed is too small",
        "On page {where} the bleed goes {is_} beyond the trimmed edge; {asked} is asked.",
        "Cutting is never exact: a white sliver may show at the edge.",
        "Let whatever touches the edge run {asked} beyond it, and export with that bleed.",
    ),
    ("inside-margin", ""): Words(
        "Text stands too near the spine",
        "On page {where} text {stands} the spine{among}; at {book_pages} pages {asked} is asked.",
        "The text disappears into the fold, and the book must be forced open to be read.",
        "Set the inside margin (with its gutter) to {asked} at least: {short} more than now.",
    ),
    ("inside-margin", "stray"): Words(
        "Text stands too near the spine",
        "On page {where} text {stands} the spine{among}; at {book_pages} pages {asked} is asked.",
        "The text disappears into the fold, and the book must be forced open to be read.",
        STRAY,
    ),
    ("inside-margin", "unmirrored"): Words(
        "Text stands too near the spine",
        "On page {where} text {stands} the spine{among}; at {book_pages} pages {asked} is asked. "
        "The margins do not change sides where they should.",
        "The text of these pages disappears into the fold.",
        "Mirror the margins first, then set the inside margin to {asked} at least.",
    ),
    ("outside-margin", ""): Words(
        "Text stands too near the outer edge",
        "On page {where} text {stands} the outer edge{among}; {asked} is asked.",
        "Cutting is never exact: the text may look pushed to the edge, or lose letters.",
        "Set the outside margin to {asked} at least: {short} more than now.",
    ),
    ("outside-margin", "stray"): Words(
        "Text stands too near the outer edge",
        "On page {where} text {stands} the outer edge{among}; {asked} is asked.",
        "Cutting is never exact: the text may look pushed to the edge, or lose letters.",
        STRAY,
    ),
    ("head-margin", ""): Words(
        "Text stands too near the head",
        "On page {where} text {stands} the head{among}; {asked} is asked.",
        "Cutting is never exact: a running head or folio may be cut.",
        "Set the head margin, or the distance of the header, to {asked} at least: {short} more than now.",
    ),
    ("head-margin", "stray"): Words(
        "Text stands too near the head",
        "On page {where} text {stands} the head{among}; {asked} is asked.",
        "Cutting is never exact: a running head or folio may be cut.",
        STRAY,
    ),
    ("foot-margin", ""): Words(
        "Text stands too near the foot",
        "On page {where} text {stands} the foot{among}; {asked} is asked.",
        "Cutting is never exact: a folio or the last line may be cut.",
        "Set the foot margin, or the distance of the footer, to {asked} at least: {short} more than now.",
    ),
    ("foot-margin", "stray"): Words(
        "Text stands too near the foot",
        "On page {where} text {stands} the foot{among}; {asked} is asked.",
        "Cutting is never exact: a folio or the last line may be cut.",
        STRAY,
    ),
    ("mirrored-margins", "same-side"): Words(
        "The margins are not mirrored",
        "Left and right pages have their text in the same place: the inside is {recto} on rectos, {verso} on versos.",
        "Text blocks of a spread do not face each other, and one of them runs into the fold.",
        "Turn on mirrored margins (inside and outside in place of left and right); then type the numbers to set.",
    ),
    ("mirrored-margins", "wrong-way"): Words(
        "The margins are mirrored the wrong way round",
        "The wide margin is outside: {outside} outside and {inside} inside.",
        "The text stands near the fold, where it is hard to read, and the wide margin is wasted at the edge.",
        "Exchange inside and outside; or, if a page was added or taken away in front, make page 1 a right-hand page. "
        "The numbers to set say how wide each should be.",
    ),
    ("mirrored-margins", "equal"): Words(
        "There is no gutter",
        "Inside and outside margins are equal, {inside}; this printer asks {asked} inside at this page count.",
        "The fold takes part of the inside margin, so the text looks pushed inward.",
        "Turn on mirrored margins and add the gutter that the numbers to set name.",
    ),
    ("blank-run", ""): Words(
        "Too many blank pages in a row",
        "{is_} blank pages stand one after another inside the book, {longest}; {asked}{among}.",
        "Readers take it for a fault, and every page is paid for.",
        "Look at {pages} for a page break or section break too many, and take out what is not meant.",
    ),
    ("blank-first", ""): Words(
        "The first page is blank",
        "{pages} {have} nothing printed on {them}.",
        "The book opens on an empty leaf, and all that follows may be on the wrong side.",
        "Begin the file with the half title or the title page.",
    ),
    ("blank-end", ""): Words(
        "Too many blank pages at the end",
        "The book ends with {is_} blank pages; {asked}.",
        "Every page is paid for; the printer may refuse more than it needs itself.",
        "Take out {pages}.",
    ),
    ("link-annotation", ""): Words(
        "The file has links",
        "There {is_} on {pages}, as in an e-book: {kinds}.",
        "Paper has no links: frames or coloured text may print, and some printers turn such a file away.",
        "Take the links out, those of the contents page too, and export again for print.",
    ),
    ("other-annotation", ""): Words(
        "The file has notes or other annotations",
        "There {is_} on {pages}: {kinds}.",
        "They may print, or the printer turns the file away.",
        "Delete them, or export again without comments.",
    ),
    ("font-not-embedded", ""): Words(
        "A font is not in the file",
        "Text on {pages} is set in {fonts} that the file does not carry: {names}.",
        "The printer's machine takes another font: letters change shape and width, and lines may break otherwise.",
        "Export again with all fonts embedded; if a font forbids that, choose another.",
    ),
    ("small-type", ""): Words(
        "Some type is too small",
        "The smallest type on page {where} is {is_}{among}; {asked} is asked.",
        "It is hard to read, and thin strokes may break up.",
        "Set this text in {asked} or larger.",
    ),
    ("image-resolution", "refused"): Words(
        "Pictures are too coarse for this printer",
        "The picture on page {where}{among} has {is_} pixels an inch as placed; {asked} are the least that is taken.",
        "The printer refuses it, or it prints in visible steps.",
        "Place a larger picture, or show it smaller: {pixels} pixels are enough for a width of {inches} "
        "({millimetres}).",
    ),
    ("image-resolution", "coarse"): Words(
        "Pictures are coarser than they should be",
        "The picture on page {where}{among} has {is_} pixels an inch as placed; {asked} are wanted.",
        "It prints soft.",
        "Place a larger picture, or show it smaller: {pixels} pixels are enough for a width of {inches} "
        "({millimetres}).",
    ),
    ("line-art-resolution", ""): Words(
        "Line drawings are too coarse",
        "The 1-bit picture on page {where}{among} has {is_} pixels an inch as placed; {asked} are wanted.",
        "Lines and letters print with visible steps.",
        "Scan or draw it again at {asked} pixels an inch, or show it no wider than {inches} ({millimetres}).",
    ),
}  # fmt: skip

NOT_IN_THIS_VERSION = "This version does not test it."
NO_COVER = "No cover was given."
NOT_OPENED = "The file could not be opened."
TOO_FEW_PAGES = "There are too few full pages of text to tell."


def summary(verdict: str, printer: str, refusals: int, spoilages: int, polish: int) -> str:
    """The verdict in one sentence, and why."""
    if verdict == "not-pressworthy":
        return f"Not pressworthy for {printer}: the file would be turned away for {_things(refusals)}."
    if verdict == "reservations":
        return f"Pressworthy with reservations for {printer}: the book would be the worse for {_things(spoilages)}."
    minor = f", with {_things(polish)} to polish" if polish else ""
    return f"Pressworthy for {printer}{minor}."


def _things(count: int) -> str:
    return "one thing" if count == 1 else f"{count} things"
