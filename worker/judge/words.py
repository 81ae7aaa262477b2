"""All that a finding says to a person, in one place: what is wrong, what it does to the book, what to set.

``{…}`` are a draft's facts. A rule with several forms has a text each.
"""

from __future__ import annotations

from typing import NamedTuple

from worker.judge.book_words import BOOK_WORDS
from worker.judge.wording import Words
from worker.measure.models import MarkKind, PageColour, Transparency

EXPORT_AGAIN = "Export the PDF again from the program that set the book, and check the new file."

STRAY = (
    "On {pages}, bring what stands out (a line too long, a note, a page number) to {asked} from the edge at least. "
    "The margin of the other pages is wide enough."
)
INTO_THE_FOLD = "Near the spine the paper curves into the fold: the ends of lines are hard to read there."
CUTTING = "No cut is exact. Text so near the edge looks pushed aside, or loses letters."
SIZE_REFUSED = (
    "A printer looks at the size first: it refuses the file, or scales the pages, and with them every margin."
)
SLIVER = "No cut is exact: without ink beyond the edge, a white sliver of paper may show there."

WORDS: dict[tuple[str, str], Words] = BOOK_WORDS | {
    ("damaged-file", "unreadable"): Words(
        "The file is damaged",
        "The file cannot be opened ({reason}).",
        "The printer cannot open it either.",
        EXPORT_AGAIN,
    ),
    ("damaged-file", "repaired"): Words(
        "The file is damaged",
        "The file could be opened only after a repair ({reason}).",
        "One program may repair it well, and the next may lose pages or refuse it.",
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
        "The file opens without a password, but its content is encrypted (scrambled, against changes or copying).",
        "The printer has to prepare the pages for the press, and this protection forbids it: the file is refused.",
        "Export the PDF again with every security setting off.",
    ),
    ("file-size", ""): Words(
        "The file is larger than this printer takes",
        "The file has {is_}; at most {asked} are taken.",
        "The upload is turned away.",
        "Export again with pictures at the resolution that the printer wants and no more.",
    ),
    ("pdf-version", "late"): Words(
        "The PDF version is too new for this printer",
        "The file is written in PDF {is_}; this printer takes {taken}.",
        "A newer file may hold what older programs do not know: it is refused, or something is left out in print.",
        "Export again with the compatibility (the PDF version) set to {most}.",
    ),
    ("pdf-version", "early"): Words(
        "The PDF version is too old for this printer",
        "The file is written in PDF {is_}; this printer takes {taken}.",
        "The file is refused.",
        "Export again with the compatibility (the PDF version) set to {least} or {most}.",
    ),
    ("active-content", ""): Words(
        "The file does things by itself",
        "A file for print does nothing but show its pages. In this one there is: {found}.",
        "Paper can do none of it, and a printer turns such a file away, since it may do harm.",
        "Export again for print, without {without}.",
    ),
    ("pdfx-conformance", "none"): Words(
        "The file is no PDF/X",
        "This printer takes {asked}, a strict kind of PDF for print (ISO 15930); the file does not say that it is one.",
        "The file is refused.",
        "Export again with the setting “PDF/X”, and choose {asked}.",
    ),
    ("pdfx-conformance", "other"): Words(
        "The file is another PDF/X than this printer takes",
        "The file says that it is {is_}; this printer takes {asked}, strict kinds of PDF for print (ISO 15930).",
        "The file is refused.",
        "Export again with the setting “PDF/X” changed to {asked}.",
    ),
    ("pdfx-conformance", "broken"): Words(
        "The file is not the PDF/X that it says it is",
        "The file says that it is {is_} ({part}), and departs from it in {points}: {breaches}. This tells only what "
        "can be seen here; it is no full test of conformance.",
        "The printer’s own test finds the same and refuses the file, or changes it in ways that nobody has looked at.",
        "Export again as {is_} from the program that set the book, and do not change the new file afterwards. It "
        "needs: {settings}.",
    ),
    ("layers", ""): Words(
        "The file has layers",
        "The file has {is_}, parts that a reader’s program can show and hide: {names}.",
        "What is hidden on your screen may be printed, or the reverse.",
        "Delete what is not to be printed, merge the layers into one, and export again without layers.",
    ),
    ("document-title", "none"): Words(
        "The file does not say its title",
        "In the file’s properties, where its title and author are noted, there is no title.",
        "A printer keeps many files apart by their titles: one without may be taken for another.",
        "Type the book’s title into the document’s properties where the book was set, and export again.",
    ),
    ("trim-size", ""): Words(
        "The page size is not one that this printer offers",
        "The page, once cut, measures {is_}; the closest size that this printer offers is {asked}.",
        SIZE_REFUSED,
        "Set the paper size to {asked}. Lines and pages then break elsewhere: look the book through, and export again.",
    ),
    ("trim-size", "with-bleed"): Words(
        "The bleed counts as part of the page",
        "The file says that the page, once cut, measures {is_}. That is {asked} and {beyond} more at the edges: the "
        "bleed, the strip beyond the edge that is cut off, has been taken for part of the page.",
        SIZE_REFUSED,
        "Set the page size to {asked} and the bleed, apart from it, to {beyond}; then export again.",
    ),
    ("trim-size", "lying"): Words(
        "The pages lie on their side",
        "The page, once cut, measures {is_}, wider than high; the size that this printer offers is {asked}.",
        "The printer refuses the file, or turns the book on its side.",
        "Set the paper size to {asked}, upright, and export again. If each page of the file shows two pages of the "
        "book side by side, export single pages instead.",
    ),
    ("trim-size", "standing"): Words(
        "The pages stand upright, and this printer's lie",
        "The page, once cut, measures {is_}, higher than wide; the size that this printer offers is {asked}.",
        "The printer refuses the file, or turns the book on its side.",
        "Set the paper size to {asked}, or choose a printer or profile that offers an upright page; then export again.",
    ),
    ("trim-size", "spread"): Words(
        "Two pages of the book stand side by side on one page of the file",
        "The usual page of the file measures {is_}: that is room for two pages of {asked}.",
        "The printer takes single pages and puts them in order itself: it refuses the file, or cuts to the wrong size.",
        "Export single pages of {asked}: turn off spreads (facing pages side by side) where the PDF is exported. "
        "Then check the new file, for margins and page count can be told only of single pages.",
    ),
    ("mixed-page-sizes", ""): Words(
        "Some pages are of another size",
        "Most pages, once cut, measure {usual}; page {where} measures {is_}.",
        "All pages of a book are cut to one size: the file is refused, or these pages are scaled or cut.",
        "Give {pages} the same paper size as the others, {usual}.",
    ),
    ("mixed-page-sizes", "lying"): Words(
        "Some pages lie on their side",
        "Most pages, once cut, measure {usual}; page {where} lies on its side and measures {is_}.",
        "All pages of a book are cut to one size: the file is refused, or these pages are scaled or cut.",
        "Set the paper of {pages} upright, {usual}, and turn what stands on it by a quarter instead.",
    ),
    ("mixed-page-sizes", "spread"): Words(
        "Some pages of the file hold two pages side by side",
        "Most pages, once cut, measure {usual}; page {where} measures {is_}, which is room for two of them.",
        "All pages of a book are cut to one size: the file is refused, or these pages are scaled or cut.",
        "Divide {pages} into single pages of {usual}, a left one and a right one.",
    ),
    ("mixed-page-sizes", "cover"): Words(
        "The cover is in the file of the pages",
        "Most pages, once cut, measure {usual}; page {where} measures {is_}, as wide as a back and a front together.",
        "The cover is printed apart, on other paper: the file is refused, or every page after it changes sides.",
        "Take {pages} out and send the cover as a file of its own, so that page 1 is the first page inside the book.",
    ),
    ("page-count", "few"): Words(
        "The book is too short for this printer",
        "The book has {has}; this printer asks for at least {limit}.",
        "So thin a book cannot be bound this way.",
        "Bring the book to {reach} pages, or choose another binding or printer.",
    ),
    ("page-count", "many"): Words(
        "The book is too long for this printer",
        "The book has {has}; at this page size this printer takes at most {limit}.",
        "So thick a book cannot be bound this way.",
        "To come to {reach} pages or fewer, {larger}set the type smaller or closer, or divide the book into volumes.",
    ),
    ("page-multiple", ""): Words(
        "Blank pages will be added at the end",
        "The book has {has}, and this printer binds pages in lots of {multiple}: "
        "{added} will be added to reach {full}.",
        "The book ends with {added} that nobody set.",
        "Bring the book to {full} pages{back}, or accept {added} at the end.",
    ),
    ("page-multiple", "elsewhere"): Words(
        "The page count does not fill the last sheet",
        "The book has {has}, and this printer binds pages in lots of {multiple}: filled up with {added} it has {full}, "
        "which is not a count that this printer takes.",
        "The printer may refuse the book for the blank pages that it would have to add.",
        "Bring the book to {reach} pages: that fills the sheets and is within what this printer takes.",
    ),
    ("page-boxes", "no-trim"): Words(
        "The file does not say where the page is cut",
        "Page {where} measures {is_}: that is {asked} and {beyond} more {sides}. No TrimBox, the file's note "
        "of where the page is cut, says that this border is to go.",
        SIZE_REFUSED,
        "Export with the page size set to {asked} and, apart from it, a bleed of {bleed}: the file then has a TrimBox. "
        "Where no picture runs off the page, a paper size of just {asked} is enough.",
    ),
    ("page-boxes", "no-trim-no-bleed"): Words(
        "The file does not say where the page is cut",
        "Page {where} measures {is_}: that is {asked} and {beyond} more {sides}. No TrimBox, the file's note "
        "of where the page is cut, says that this border is to go.",
        SIZE_REFUSED,
        "Set the paper size to just {asked}: this printer takes no bleed, that is, no ink beyond the edge.",
    ),
    ("page-boxes", "crop-for-trim"): Words(
        "The file does not say plainly where the page is cut",
        "Page {where} measures {is_} with its border: that is {asked} and {beyond} more {sides}. It has a CropBox, "
        "which says what a screen shows, and no TrimBox, which says where the page is cut.",
        "One printer's program may follow the CropBox and the next the whole page, and then the size is wrong.",
        "Export with a TrimBox of {asked}: set the page size to {asked} and the border as its bleed.",
    ),
    ("page-boxes", "trim-short"): Words(
        "The page ends before the line where it is cut",
        "The TrimBox of page {where}, the file's note of where the page is cut, measures {written} and goes "
        "beyond the page itself (its MediaBox, {media}): only {is_} of it is there.",
        SIZE_REFUSED,
        "Set the paper size to {written} where the book was set, export again and do not crop the new file.",
    ),
    ("page-boxes", "trim-beyond"): Words(
        "The line where the page is cut lies outside the page",
        "The TrimBox of page {where}, the file's note of where the page is cut, measures {written} and goes beyond the "
        "page itself (its MediaBox, {media}). Cut back to the page it comes to {is_}.",
        "Most programs cut it back in the same way; a strict one refuses the file.",
        "Export again with a TrimBox of {is_}: set the page size to just that.",
    ),
    ("page-boxes", "beyond-media"): Words(
        "The file promises more around the page than there is",
        "The {box} of page {where} (one of the file's notes about the page's edges) measures {written}, and the page "
        "itself (its MediaBox) only {media}.",
        "Nothing is printed from beyond the page. A strict program refuses the file.",
        "Export {pages} again with a {box} of {media} at most, or with paper as large as the {box}.",
    ),
    ("page-boxes", "bleed-inside"): Words(
        "The BleedBox is smaller than the page",
        "The BleedBox of page {where}, the file's note of how far ink is kept, measures {is_}; the page, once "
        "cut, measures {trim}.",
        "Many programs keep no more than the BleedBox: the edges of the page would stay white.",
        "Export {pages} again with a BleedBox no smaller than the page, {trim}.",
    ),
    ("page-boxes", "crop-inside"): Words(
        "The CropBox hides the edges of the page",
        "The CropBox of page {where}, the file's note of what a screen shows, measures {is_}; the page, once cut, "
        "measures {trim}.",
        "You do not see all that will be printed, and some programs print no more than the CropBox.",
        "Export {pages} again without cropping, or with a CropBox of {trim} at least.",
    ),
    ("page-boxes", "bleed-box"): Words(
        "The BleedBox cuts the bleed off",
        "On {pages} ink runs on beyond the edge, as this printer asks ({asked}), and the BleedBox, the file's note "
        "of how far ink is kept, ends before it.",
        "Many programs keep no more than the BleedBox: a white sliver may show at the edge.",
        "Export with a bleed of {asked} on every side, so that the BleedBox goes as far.",
    ),
    ("page-rotation", ""): Words(
        "Some pages are turned",
        "On {pages} the file asks that the page be turned before it is shown (page {where}: by {degrees} degrees).",
        "A printer's program may ignore that: the page then prints on its side or upside down.",
        "Set {pages} upright in the program that set the book, without turning them in the PDF, and export again.",
    ),
    ("page-rotation", "lying"): Words(
        "Upright pages are shown lying on their side",
        "Page {where} is set upright, {usual}, and the file asks that it be shown turned by {degrees} degrees, so that "
        "it measures {is_}: handy on a screen, as for a wide table.",
        "All pages of a book are cut to one size: a printer that follows the turn refuses these pages or scales them.",
        "Take the turn out of {pages}: the paper stays {usual}, upright, and the table lies on it. Then export again.",
    ),
    ("bleed-missing", ""): Words(
        "Ink reaches the edge, and there is no bleed",
        "On {pages} something other than text is printed up to the edge, and the file has nothing beyond it. This "
        "printer asks for {asked} of bleed, the strip of ink beyond the edge that is cut off.",
        SLIVER,
        "Let pictures and backgrounds run {asked} beyond the edge, and export with a bleed of {asked}; or keep "
        "them inside the page.",
    ),
    ("bleed-missing", "always"): Words(
        "The pages have no bleed",
        "This printer wants bleed, a strip beyond the edge that is cut off, on every page: {asked}. On {pages} the "
        "file has none.",
        "The file is refused, or scaled up to make a bleed, and with it every margin.",
        "Export with a bleed of {asked} on every page.",
    ),
    ("bleed-missing", "never"): Words(
        "Ink reaches the edge, and this printer cannot print there",
        "On {pages} something other than text is printed up to the edge of the page or past it. This printer takes no "
        "bleed, the strip of ink beyond the edge that is cut off.",
        "The printer refuses it, or a white sliver of paper shows at the edge.",
        "Keep pictures and backgrounds inside the page, or choose a printer that takes bleed.",
    ),
    ("bleed-short", ""): Words(
        "The bleed is too small",
        "On page {where} the bleed, the strip beyond the edge that is cut off, is {is_} wide; {asked} is asked.",
        SLIVER,
        "Let whatever touches the edge run {asked} beyond it, and export with a bleed of {asked}.",
    ),
    ("inside-margin", ""): Words(
        "Text stands too near the spine",
        "On page {where} text {stands} the spine{among}; a book of {book_pages} needs {asked}.{cut}",
        INTO_THE_FOLD,
        "Set the inside margin (the one at the spine, with its gutter) to {asked} at least: {short} more than now.",
    ),
    ("inside-margin", "stray"): Words(
        "Text stands too near the spine",
        "On page {where} text {stands} the spine{among}; a book of {book_pages} needs {asked}.{cut}",
        INTO_THE_FOLD,
        STRAY,
    ),
    ("inside-margin", "unmirrored"): Words(
        "Text stands too near the spine",
        "On page {where} text {stands} the spine{among}; a book of {book_pages} needs {asked}. "
        "The margins do not change sides between left and right pages.{cut}",
        INTO_THE_FOLD,
        "Mirror the margins first (inside and outside in place of left and right), then set the inside margin to "
        "{asked} at least.",
    ),
    ("inside-margin", "wrong-way"): Words(
        "Text stands too near the spine",
        "On page {where} text {stands} the spine{among}; a book of {book_pages} needs {asked}. "
        "The wide margin is at the outer edge.{cut}",
        INTO_THE_FOLD,
        "Exchange the inside and outside margins first, then set the inside margin to {asked} at least.",
    ),
    ("outside-margin", ""): Words(
        "Text stands too near the outer edge",
        "On page {where} text {stands} the outer edge{among}; {asked} is asked.{cut}",
        CUTTING,
        "Set the outside margin (the one away from the spine) to {asked} at least: {short} more than now.",
    ),
    ("outside-margin", "stray"): Words(
        "Text stands too near the outer edge",
        "On page {where} text {stands} the outer edge{among}; {asked} is asked.{cut}",
        CUTTING,
        STRAY,
    ),
    ("head-margin", ""): Words(
        "Text stands too near the top of the page",
        "On page {where} text {stands} the upper edge{among}; {asked} is asked.{cut}",
        CUTTING,
        "Set the top margin, or the distance of the header where there is one, to {asked} at least: {short} more than "
        "now.",
    ),
    ("head-margin", "stray"): Words(
        "Text stands too near the top of the page",
        "On page {where} text {stands} the upper edge{among}; {asked} is asked.{cut}",
        CUTTING,
        STRAY,
    ),
    ("foot-margin", ""): Words(
        "Text stands too near the foot of the page",
        "On page {where} text {stands} the lower edge{among}; {asked} is asked.{cut}",
        CUTTING,
        "Set the bottom margin, or the distance of the footer where there is one, to {asked} at least: {short} more "
        "than now.",
    ),
    ("foot-margin", "stray"): Words(
        "Text stands too near the foot of the page",
        "On page {where} text {stands} the lower edge{among}; {asked} is asked.{cut}",
        CUTTING,
        STRAY,
    ),
    ("mirrored-margins", "same-side"): Words(
        "The margins are not mirrored",
        "Left and right pages have their text in the same place: the margin at the spine is {recto} on right-hand "
        "pages and {verso} on left-hand ones.",
        "Facing pages do not match, and on every other page the text runs towards the fold.",
        "Turn on mirrored margins (inside and outside in place of left and right); then set the inside margin to "
        "{set_inside}.",
    ),
    ("mirrored-margins", "wrong-way"): Words(
        "The margins are mirrored the wrong way round",
        "The wide margin is outside: {outside} at the outer edge and {inside} at the spine.",
        "The text stands near the fold, where it is hard to read, and the room is wasted at the outer edge.",
        "Exchange the inside and outside margins. Or, if a page was added or taken away in front so that every page "
        "changed sides, put that right: page 1 of the file is a {first} page. {set_inside_sentence}",
    ),
    ("mirrored-margins", "equal"): Words(
        "There is no extra margin at the spine",
        "Inside and outside margins are equal, {inside}; this printer asks for {gutter} more at the spine than at the "
        "outer edge (the gutter).",
        "The fold takes part of the inside margin, so the text looks pushed inward.",
        "Turn on mirrored margins and set the inside margin, its gutter included, {gutter} wider than the outside one.",
    ),
    ("blank-run", ""): Words(
        "Too many blank pages in a row",
        "Inside the book {is_} {stand}, {longest}; {asked}{among}.",
        "Readers take it for a fault, and every page is paid for.",
        "Look at {pages} for a page break or section break too many, and take out what is not meant.",
    ),
    ("blank-first", ""): Words(
        "The first page is blank",
        "{pages} {have} nothing printed on {them}.",
        "The book opens on an empty page, and all that follows may be on the wrong side.",
        "Take out {those}, so that the file begins with the title page, or with the page before it that bears the "
        "title alone.",
    ),
    ("blank-first", "all"): Words(
        "Nothing is printed on any page",
        "All pages of the file are blank.",
        "There is nothing to print.",
        EXPORT_AGAIN,
    ),
    ("blank-end", ""): Words(
        "Too many blank pages at the end",
        "The book ends with {is_}; {asked}.",
        "Every page is paid for; the printer may refuse more than it needs itself.",
        "Take out {pages}.",
    ),
    ("blank-end", "all"): Words(
        "Nothing is printed on any page",
        "All pages of the file are blank.",
        "There is nothing to print.",
        EXPORT_AGAIN,
    ),
    ("link-annotation", ""): Words(
        "The file has links",
        "There {is_} on {pages}, as in an e-book: {kinds}.",
        "Paper has no links: frames or coloured text may print, and some printers turn such a file away.",
        "Have the contents made without links, take the others out, and export again for print.",
    ),
    ("other-annotation", ""): Words(
        "The file has comments or notes stuck on its pages",
        "There {is_} (what a reader's program lays over the page) on {pages}: {kinds}.",
        "They may print, or the printer turns the file away.",
        "Delete them, or export again without comments.",
    ),
    ("font-not-embedded", ""): Words(
        "A font is not in the file",
        "Text on {pages} is set in {fonts} that the file does not carry: {names}.",
        "The printer's machine takes another font: letters change shape and width, and lines may break otherwise.",
        "Export again with all fonts embedded (carried in the file); if a font forbids that, choose another.",
    ),
    ("font-restricted", ""): Words(
        "A font may not be embedded",
        "Text on {pages} is set in {fonts} not licensed to be carried in a file as was done here: {names}.",
        "A printer may refuse it, and whoever owns the font may object to the book.",
        "Ask for a licence that allows embedding in files for print, or set this text in another font.",
    ),
    ("font-type3", ""): Words(
        "Some letters are stored as drawings",
        "Text on {pages} is set in {fonts} of the kind Type 3, whose letters are small drawings or pictures: {names}.",
        "They print thicker than others, or, if they are pictures, with visible steps.",
        "Set this text in another font (OpenType or TrueType, as most are), and export again.",
    ),
    ("missing-glyph", ""): Words(
        "Letters are missing",
        "On {pages} the text has, {times}, a letter that its font lacks{letters}; the font is {names}.",
        "In its place an empty box is printed, or nothing.",
        "Set these letters in a font that has them, export again, and look at {pages}.",
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
        "Place a picture of more pixels, or show this one smaller: its {pixels} pixels are enough for a width of "
        "{inches} ({millimetres}).",
    ),
    ("image-resolution", "coarse"): Words(
        "Pictures are coarser than they should be",
        "The picture on page {where}{among} has {is_} pixels an inch as placed; {asked} are wanted.",
        "It prints blurred.",
        "Place a picture of more pixels, or show this one smaller: its {pixels} pixels are enough for a width of "
        "{inches} ({millimetres}).",
    ),
    ("image-oversampled", ""): Words(
        "Pictures are finer than print can show",
        "The picture on page {where}{among} has {is_} pixels an inch as placed; more than {most} gain nothing here.",
        "It prints no better, and the file is larger and slower to handle than need be.",
        "Reduce it to {pixels} pixels, or have the export reduce pictures above {most} pixels an inch to that.",
    ),
    ("image-oversampled", "line-art"): Words(
        "Line drawings are finer than print can show",
        "The drawing in pure black and white on page {where}{among} has {is_} pixels an inch as placed; more than "
        "{most} gain nothing.",
        "It prints no better, and the file is larger and slower to handle than need be.",
        "Reduce it to {pixels} pixels, keeping it in pure black and white.",
    ),
    ("colour-space", "colour"): Words(
        "There is colour in a black-and-white book",
        "Not all is in black and grey: {found} ({colours}{names}). This printer prints with {printed}.",
        "The file is refused, or the colours are turned into greys that nobody has chosen; light ones may vanish, and "
        "some printers charge the whole book as colour.",
        "Turn pictures into greyscale and set text and drawings in black or grey, or export with the colours set to "
        "greyscale (grey). If the book is meant to be in colour, choose a printer for colour.",
    ),
    ("colour-space", "rgb"): Words(
        "There are colours in RGB, which this printer does not take",
        "RGB is how screens mix colours; this printer wants them in its inks (CMYK). In RGB there are: {found} "
        "({colours}).",
        "The file is refused, or the printer’s machine converts them: bright colours turn dull, and black text may "
        "come out in four inks with blurred edges.",
        "Export with the colours set to CMYK, by the colour profile that the printer names, and with black text in "
        "black alone. If your program cannot do that, choose a printer that takes RGB.",
    ),
    ("colour-space", "rgb-gray"): Words(
        "Black and grey are written in RGB, which this printer does not take",
        "They look grey, and the file mixes them from red, green and blue as a screen does: {found}.",
        "The file is refused, or the printer’s machine makes them of four inks: where these do not meet exactly, small "
        "letters get blurred, coloured edges.",
        "In a book without colours, export with the colours set to greyscale. Else set text and lines in black alone "
        "(0, 0, 0, 100 in CMYK) and turn such pictures into greyscale.",
    ),
    ("colour-space", "cmyk"): Words(
        "There are colours in CMYK, which this printer does not take",
        "In CMYK, the four inks of a press, there are: {found}. This printer takes other colours and makes its inks "
        "of them itself.",
        "The file is refused, or the colours come out otherwise than meant.",
        "Export with the colours converted to RGB, and check how they look.",
    ),
    ("colour-space", "spot"): Words(
        "There are spot colours, which this printer does not take",
        "A spot colour is an ink of its own, mixed for one job{names}. There are: {found}.",
        "The file is refused, or the colour is replaced by a mixture of other inks that may look different.",
        "Change the spot colours into mixtures of the four inks (CMYK) where they are defined, and export again.",
    ),
    ("colour-space", "lab"): Words(
        "There are colours in Lab, which this printer does not take",
        "Lab describes how a colour looks and not of which inks it is made. There are: {found}.",
        "The file is refused, or the printer’s machine chooses the inks.",
        "Export with the colours set to CMYK, by the colour profile that the printer names.",
    ),
    ("ink-coverage", ""): Words(
        "Too much ink lies on one spot",
        "A colour on page {where} asks for {is_} percent of ink, all inks added up{among}; at most {most} are taken."
        "{bound}",
        "So much ink does not dry: it smears, sticks to the facing page, and may make the paper wavy.",
        "Mix this colour of less ink, {most} percent in all at most: the percents of cyan, magenta, yellow and black "
        "added up. For text take black alone.",
    ),
    ("ink-coverage", "picture"): Words(
        "Pictures have too much ink on one spot",
        "The darkest part of a picture on page {where} asks for {is_} percent of ink, all inks added up{among}; at "
        "most {most} are taken.{bound}",
        "So much ink does not dry: it smears, sticks to the facing page, and dark parts lose their detail.",
        "In a program for pictures, convert the original to CMYK again, by the colour profile that the printer names, "
        "or one whose total ink is {most} percent or less.",
    ),
    ("rich-black-text", ""): Words(
        "Black text is made of several inks",
        "Text on {pages} is in a black of several inks, {sizes} in size; the smallest, on page {where}, is {inks}.",
        "The inks never meet exactly: small letters get blurred, coloured edges and fill in.",
        "Set this text in black alone (0, 0, 0, 100 in CMYK); in a book without colours, export in greyscale.",
    ),
    ("rich-black-text", "registration"): Words(
        "Text is in the registration colour",
        "Text on {pages}, {sizes} in size, is in the colour that prints in every ink at once (often called "
        "Registration), which is for marks outside the page.",
        "It prints with all inks at once: it smears, and small letters get blurred, coloured edges.",
        "Set this text in black alone (0, 0, 0, 100 in CMYK); in a book without colours, export in greyscale.",
    ),
    ("thin-rule", ""): Words(
        "Some lines are too thin",
        "The thinnest line on page {where} is {is_} wide{zero}{among}; {asked} is asked.",
        "It may break up, or not print at all.",
        "Set lines to {asked} or wider. In a drawing that was made smaller, the lines became thinner with it.",
    ),
    ("transparency", ""): Words(
        "There is transparency, which this printer does not take",
        "On {pages} there are parts that can be seen through: {kinds}.",
        "The file is refused, or parts of these pages come out opaque, in another colour, or not at all.",
        "Export again as PDF 1.3, or with a setting that flattens transparency, or take shadows, glows and "
        "see-through colours out; then look at {pages}.",
    ),
    ("output-intent", "none"): Words(
        "The file does not say for which press and paper it is",
        "This printer wants a file that says for which press and paper its colours are meant (its output intent); this "
        "one does not.",
        "The file is refused, or its colours are taken for those of another paper.",
        "Export again as PDF/X, and choose the colour profile that the printer names.",
    ),
    ("output-intent", "several"): Words(
        "The file says that it is for two presses and papers",
        "A file should name one press and paper that its colours are meant for (its output intent); this one names: "
        "{names}.",
        "The printer cannot tell which one holds: the file is refused, or the colours come out otherwise than meant.",
        "Export again as PDF/X, with that colour profile alone which the printer names.",
    ),
    ("output-intent", "other-family"): Words(
        "The file is meant for another press or paper",
        "The file says that its colours are meant for {condition}, in {family}; this printer takes {taken}.",
        "The file is refused, or all its colours are converted once more and come out otherwise than meant.",
        "Export again as PDF/X, and choose the colour profile that the printer names.",
    ),
    ("line-art-resolution", ""): Words(
        "Line drawings are too coarse",
        "The drawing in pure black and white on page {where}{among} has {is_} pixels an inch as placed; {asked} are "
        "wanted.",
        "Lines and letters print with visible steps.",
        "Scan or draw it again at {asked} pixels an inch, or show it no wider than {inches} ({millimetres}).",
    ),
}  # fmt: skip


class Active(NamedTuple):
    """Something that a file does by itself: in a sentence, beside its place, and after "without"."""

    found: str
    mark: str
    without: str


ACTIVE: dict[str, Active] = {
    "script": Active("JavaScript, small programs that run while the file is read", "JavaScript", "scripts"),
    "program": Active("a command that starts another program", "starts a program", "commands that start programs"),
    "media": Active("sound, film or a 3D model", "sound, film or 3D", "sound, film and 3D models"),
    "files": Active("attached files", "attached file", "attached files"),
    "form": Active("a form to fill in", "form", "form fields"),
    "address": Active("a web address that is no link on a page", "web address", "web addresses in its bookmarks"),
    "switch": Active("a button that shows or hides something", "shows or hides", "buttons"),
    "command": Active("a command to the reader’s program", "command", "commands to the reader’s program"),
}


COLOURS: dict[PageColour, str] = {
    "gray": "grey",
    "rgb": "RGB",
    "rgb-gray": "grey written in RGB",
    "cmyk": "CMYK",
    "spot": "spot colour",
    "lab": "Lab",
    "registration": "registration colour",
}
MARK_KINDS: dict[MarkKind, str] = {"text": "text", "drawing": "lines or areas", "picture": "pictures"}
TRANSPARENCIES: dict[Transparency, str] = {
    "alpha": "a colour or picture at less than full opacity",
    "blend": "a colour that blends with what lies beneath",
    "soft-mask": "a soft mask (a shadow, a glow, a picture with soft edges)",
    "group": "several things that are blended as one (a transparency group)",
}
ONLY_BLACK = "black ink alone"
ONLY_BLACK_AND_SPOT = "black ink and spot colours"
BOUND = " Things lie over each other there, or are cut off: the ink that comes together on paper may be more or less."
AS_THIN_AS_CAN_BE = ", which stands for the thinnest line that each machine can draw"
INKS_UNKNOWN = "{pages}: colours in RGB or Lab were left out, since the printer’s conversion decides their inks."
INKS_NOT_READ = "{pages}: a picture in CMYK was left out, since its inks could not be read."
NAMELESS = "a font without a name"
PERMISSION_UNKNOWN = "Whether these fonts may be embedded is not said in the file: {names}."
NO_TITLE_PAGE = "No title page was found to compare the title with."
BOOK_NOT_READ = "How the book is built was not read."
NO_FOLIOS = "No page numbers were found."
NOT_IN_THIS_VERSION = "This version does not test it."
NO_COVER = "No cover was given."
NOT_OPENED = "The file could not be opened."
TOO_FEW_PAGES = "There are too few full pages of text to tell."
TWO_ON_ONE = "Two pages of the book stand side by side on one page of the file: export single pages first."
UNREAD = "{pages} could not be read: {why}."
OPEN_EDGE = (
    "The file does not say where the edge of {pages} is: of ink beyond it, only what runs through the border is known."
)
LEFT_OUT = {
    "turned": "{pages}: left out, since an upright page is shown lying on its side.",
    "lying": "{pages}: left out, since the page lies on its side.",
    "spread": "{pages}: left out, since two pages stand side by side.",
    "cover": "{pages}: left out, since it is a cover by its size.",
    "cropped": "{pages}: left out, since the page ends before the line where it is cut.",
    "marks": "{pages}: left out, since a printer's marks stand around the page and no TrimBox says where it is cut.",
}
"""Why a rule about the edges of a page did not look at some pages."""


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
