"""What the rules about how a book is built say: see ``words.py``. Trade words are explained where they first stand."""

from __future__ import annotations

from worker.judge.wording import Words

_NUMBERS = "Readers find a page by its number, and so do indexes and quotations."
UPDATE = (
    "In the document, have the contents made anew (“update the table”, all of it and not the page numbers alone), as "
    "the last thing before the export."
)

BOOK_WORDS: dict[tuple[str, str], Words] = {
    ("contents-page-number", ""): Words(
        "The contents sends readers to a wrong page",
        "The contents says that “{text}” is on {says}; it is on {stands}.{rest}",
        "The reader opens the book at the wrong place, and every reviewer sees it.",
        UPDATE,
    ),
    ("contents-page-number", "many"): Words(
        "The contents is out of date",
        "{count} of {of} entries of the contents name a wrong page: “{text}”, for one, says {says} and is on {stands}.",
        "The reader opens the book at the wrong place, and every reviewer sees it.",
        UPDATE,
    ),
    ("contents-missing-entry", "lacking"): Words(
        "The contents leaves out a chapter",
        "{titles} {open} on {pages} of the file and {is_} not in the contents.",
        "Readers think that the book has no such chapter.",
        "Give the heading the same heading style as the other chapters have. " + UPDATE,
    ),
    ("contents-missing-entry", "stray"): Words(
        "The contents lists what is no heading",
        "The contents lists {titles}; the book has no such heading.",
        "Readers look for it in vain.",
        "Look for text, or an empty line, that was given a heading style by mistake, and give it the style of the text "
        "around it. " + UPDATE,
    ),
    ("folio-order", ""): Words(
        "The page numbers do not count on",
        "Page {page} of the file is numbered {is_}; after the page before it, it would be {wanted}.{among}",
        _NUMBERS,
        "Go to the section (the part of the document between two section breaks) that starts there, and set its page "
        "numbers to continue from the section before.",
    ),
    ("folio-parity", "start"): Words(
        "Odd page numbers stand on {even_side}-hand pages",
        "In a book {odd_side}-hand pages have odd numbers. Here {pages} of the file have them on the wrong side: page "
        "{page} is numbered {is_}.",
        "Every printed book counts the other way: it looks like a mistake on every page.",
        "Have the page numbers start anew at the first chapter (page {first} of the file), at 1. Where your program "
        "has one start value for the whole document, type {start}. Then have the contents made anew.",
    ),
    ("folio-parity", "verso"): Words(
        "Odd page numbers stand on {even_side}-hand pages",
        "In a book {odd_side}-hand pages have odd numbers. Here {pages} of the file have them on the wrong side: page "
        "{page} is numbered {is_}. The first chapter opens on a {even_side}-hand page.",
        "Every printed book counts the other way: it looks like a mistake on every page.",
        "Put one blank page before the first chapter (page {first} of the file), or take one out: the pages before "
        "it must be an even number. A section break of the kind “odd page” does it by itself.",
    ),
    ("folio-parity", "front"): Words(
        "Odd page numbers before the text stand on {even_side}-hand pages",
        "In a book {odd_side}-hand pages have odd numbers. Here {pages} of the file, before the text, have them on the "
        "wrong side: page {page} is numbered {is_}.",
        "Left and right pages are exchanged: it looks like a fault of the binding.",
        "Have the numbers of these pages start so that page 1 of the file is i, whether it shows the number or not: "
        "every page from the first on is counted.",
    ),
    ("chapter-on-verso", ""): Words(
        "A chapter opens on a {even_side}-hand page",
        "On {pages} of the file a chapter opens on the {even_side}: {titles}. The others open on the {odd_side}.",
        "What is done for all chapters but one looks forgotten.",
        "Put a section break of the kind “odd page” before the chapter: it leaves a blank page where one is needed.",
    ),
    ("chapter-on-verso", "first"): Words(
        "The first chapter opens on a {even_side}-hand page",
        "The first chapter opens on {pages} of the file, on the {even_side}: {titles}.",
        "A book begins on the {odd_side}, with page 1. On the {even_side} the opening looks misplaced.",
        "Put a section break of the kind “odd page” before the chapter: it leaves a blank page where one is needed.",
    ),
    ("first-folio", ""): Words(
        "The first chapter is not page 1",
        "The first chapter opens on page {page} of the file, and is numbered {is_}.",
        "The pages before it (title, imprint, contents) were counted in. The numbers of a book begin with its text.",
        "Have the page numbers start anew there, at 1. Where your program has one start value for the whole document, "
        "type {start}. Then have the contents made anew.",
    ),
    ("first-folio", "verso"): Words(
        "The first chapter is not page 1",
        "The first chapter opens on page {page} of the file, and is numbered {is_}.",
        "The pages before it (title, imprint, contents) were counted in. The numbers of a book begin with its text.",
        "Bring the opening on page {first} of the file to a {odd_side}-hand page first, by a section break of the kind "
        "“odd page”; then have the page numbers start anew there, at 1, and the contents made anew.",
    ),
    ("first-folio", "part"): Words(
        "The text does not begin with page 1",
        "The first chapter opens on page {page} of the file, and is numbered {is_}.",
        "The pages before it (title, imprint, contents) were counted in. The numbers of a book begin with its text.",
        "Have the page numbers start anew at 1 on the page that bears the title of the first part (page {first} of the "
        "file), whether it shows the number or not. Where your program has one start value for the whole document, "
        "type {start}. Then have the contents made anew.",
    ),
    ("folio-on-blank", ""): Words(
        "A blank page bears a page number",
        "On {pages} of the file there is nothing but a page number{and_head}.",
        "A blank page is left wholly blank; a number alone on it looks like text that was lost.",
        "Make the page blank by a section break of the kind “odd page” and not by empty lines: it then has no header "
        "and no footer.",
    ),
    ("sinkage", ""): Words(
        "An opening starts lower than the others",
        "On page {page} of the file the heading {title} stands {is_} from the top edge; the others of its kind stand "
        "{usual}: {off} higher.{among}",
        "All chapters of a book open at the same height; readers feel a difference before they see it.",
        "Look on {pages} for an empty line above the heading, and take it out: set the distance as “space before” in "
        "the style of the heading, so that it is the same for all.",
    ),
    ("sinkage", "higher"): Words(
        "An opening starts higher than the others",
        "On page {page} of the file the heading {title} stands {is_} from the top edge; the others of its kind stand "
        "{usual}: {off} lower.{among}",
        "All chapters of a book open at the same height; readers feel a difference before they see it.",
        "Give the heading on {pages} the style that the others have, with its “space before”; where the others were "
        "moved down by empty lines, take these out.",
    ),
    ("front-matter-order", ""): Words(
        "The pages before the text are out of order",
        "{what} stands on page {page} of the file, before {other} on page {there}.",
        "Librarians, booksellers and reviewers look for these pages in their places.",
        "Bring them into this order: half title (the title alone), title page, imprint on its back, dedication, "
        "contents.",
    ),
    ("running-head", "blank"): Words(
        "A blank page has a running head",
        "On {pages} of the file there is nothing but a running head (the line above the text): “{text}”.",
        "A blank page is left wholly blank; a line alone on it looks like text that was lost.",
        "Make the page blank by a section break of the kind “odd page” and not by empty lines.",
    ),
    ("running-head", "opening"): Words(
        "A running head stands over an opening",
        "On {pages} of the file the running head (the line above the text) stands over the opening of a chapter: "
        "“{text}”.",
        "A chapter opens with white space above; the line over its title says the same thing twice.",
        "Turn on “different first page” for the section of each chapter, and leave the header of that page empty.",
    ),
    ("running-head", "missing"): Words(
        "A running head is missing",
        "On {pages} of the file there is no running head (the line above the text), and the pages around have one.",
        "It looks forgotten.",
        "In that section, link the header to that of the section before it, or type it again where it was emptied.",
    ),
    ("running-head", "side"): Words(
        "A running head is on the wrong side",
        "On {pages} of the file the running head (the line above the text) is that of the facing page: “{text}”.",
        "Left and right pages have running heads of their own; exchanged, they look like a fault of the binding.",
        "Turn on “different odd and even pages”, and exchange the two headers of that section.",
    ),
    ("running-head", "other"): Words(
        "A running head names another chapter",
        "On {pages} of the file the running head (the line above the text) is “{text}”, the title of another chapter.",
        "Readers who look for a chapter by it are led astray.",
        "Unlink the header of that section from the section before it, and type the chapter’s own title.",
    ),
    ("uneven-text-block", "starts"): Words(
        "The text does not start at the same height on every page",
        "On page {page} of the file the first line stands {off} {where} than on the other pages.{among}",
        "Facing pages that do not align look crooked, though they are not.",
        "Look at the head of {pages} for an empty line, or for “space before” at a paragraph that comes first there.",
    ),
    ("uneven-text-block", "facing"): Words(
        "Facing pages do not align",
        "On {side}-hand pages the first line stands {off} lower than on {other}-hand pages.",
        "In the open book the two pages of every spread look shifted against each other.",
        "Give left and right pages the same top margin, and headers of the same height (their “spacing” and their "
        "number of lines).",
    ),
    ("uneven-text-block", "ends"): Words(
        "The text does not end at the same height on every page",
        "On page {page} of the file the last line stands {off} {where} than on the other pages, in the middle of a "
        "chapter.{among}",
        "A page that ends early looks like the end of the chapter.",
        "Look at the foot of {pages} for a page break that was typed, an empty line, or a paragraph that is kept with "
        "the next one, and take it out.",
    ),
    ("widow", ""): Words(
        "A page begins with the last line of a paragraph",
        "The last line of a paragraph stands alone at the head of {pages} of the file (here this is called a widow; "
        "some books call it an orphan): “{text}”.",
        "The line looks lost, and the eye stumbles at the turn of the page.",
        "Turn on “widow and orphan control” for the text, or change the paragraph by a word.",
    ),
    ("orphan", ""): Words(
        "A page ends with the first line of a paragraph",
        "The first line of a paragraph stands alone at the foot of {pages} of the file (here this is called an orphan; "
        "some books call it a widow): “{text}”. Many printers of books let it pass.",
        "The paragraph seems to end before it begins.",
        "Turn on “widow and orphan control” for the text, or change the paragraph before it by a word.",
    ),
    ("blank-run", "unexpected"): Words(
        "A blank page stands where none belongs",
        "On {pages} of the file nothing is printed, and no chapter opens after {them}.",
        "Readers take it for a fault, and every page is paid for.",
        "Look before {pages} for a page break or section break too many, and take it out.",
    ),
    ("document-title", "other"): Words(
        "The file’s title is not that of the title page",
        "In the file’s properties the title is “{is_}”; the title page says “{printed}”.",
        "A printer keeps files apart by these titles, and shops show them.",
        "Type “{printed}” as the title in the document’s properties, and export again.",
    ),
}
