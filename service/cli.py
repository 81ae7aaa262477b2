"""The command ``pressworthy``. What a call needs is imported when it is called: the command starts fast."""

# ruff: noqa: PLC0415 - see above
from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from service.command_line import DATA, UNUSABLE, refuse, require_house, say, settings_at, store_at
from service.people import member, token

if TYPE_CHECKING:
    from worker.compare import Earlier
    from worker.inspection import Inspected
    from worker.limits import Limits
    from worker.profiles import Profile
    from worker.report.models import Report

DEFAULT_PROFILE = "common-paperback"
_SIGNATURE_WITHIN = 1024
"""Readers find the header within the first 1024 bytes (ISO 32000-1 Annex H, implementation note 13; from memory)."""


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="pressworthy")
def main() -> None:
    """Measure a book's PDF and say, before upload, whether a printer will take it and which number to change.

    The printer's own guide governs, whatever a profile says; order a physical proof before you order copies.
    """


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--profile", "profile_name", default=DEFAULT_PROFILE, show_default=True, help="A printer: id or file.")
@click.option("--pages", type=click.IntRange(1, 100_000), help="Judge as if the finished book had so many pages.")
@click.option(
    "--against", type=click.Path(path_type=Path), help="The report on an earlier file, JSON, to compare with."
)
@click.option("--cover", type=click.Path(path_type=Path), help="The cover's PDF (not judged by this version).")
@click.option("--format", "form", type=click.Choice(["text", "json", "html"]), default="text", show_default=True)
@click.option("--strict", is_flag=True, help="Exit with 1 on reservations too.")
@click.option("-o", "out", type=click.Path(path_type=Path), help="Write there and not to standard output.")
@click.option("--proof", type=click.Path(path_type=Path), help="Write the book with its marks and notes there, a PDF.")
def check(
    file: Path,
    profile_name: str,
    pages: int | None,
    against: Path | None,
    cover: Path | None,
    form: str,
    strict: bool,
    out: Path | None,
    proof: Path | None,
) -> None:
    """Judge FILE for a printer. Exit status: 0 the printer would take it, 1 it would not, 2 the call was no use."""
    from worker.collecting import collect_seldom
    from worker.fence import FenceError
    from worker.inspection import inspect

    if cover is not None:
        refuse("this version does not judge covers: leave out --cover, and check the interior alone")
    collect_seldom()
    limits = _limits()
    _usable(file, limits)
    earlier = _earlier(against) if against is not None else None
    if proof is not None and proof.exists() and proof.samefile(file):
        refuse(f"{proof}: that is the book itself; name another place for its proof")
    load = partial(_profile, profile_name)
    try:
        with _progress() as on_progress:
            done = inspect(file, load, name=file.name, judged_as_pages=pages, limits=limits, on_progress=on_progress)
    except FenceError as error:
        refuse(f"{file.name}: {error}")
    report, profile = done.report, done.profile
    if earlier is not None:
        from worker.compare import compared

        report = compared(report, earlier)
    if form == "json":
        text = report.model_dump_json(indent=2)
    elif form == "html":
        text = _page(file, report, done, limits)
    else:
        from worker.report.text import render_text

        text = render_text(report, unit=profile.unit, colour=out is None and sys.stdout.isatty())
    _put(text, out)
    proved = proof is None or _prove(file, done, proof, limits)
    refused = {"not-pressworthy"} | ({"reservations"} if strict else set())
    if report.verdict.value in refused:
        sys.exit(1)
    sys.exit(0 if proved else UNUSABLE)


def _page(file: Path, report: Report, done: Inspected, limits: Limits) -> str:
    """The report as a page, with pictures of the worst pages; those that cannot be had are drawn without."""
    from worker.fence import picture_fenced
    from worker.report.html import render_html
    from worker.report.underlay import picture_order

    order = picture_order(report, done.reading.measurements)
    with _progress("drawing") as on_progress:
        made = picture_fenced(file, order, limits=limits, on_progress=on_progress)
    return render_html(report, done.reading.measurements, done.profile, pictures=made.pictures)


def _prove(file: Path, done: Inspected, out: Path, limits: Limits) -> bool:
    """Write the proof, whole or not at all; whether it is there. Where it is not, one line says why."""
    from tempfile import TemporaryDirectory

    from worker.fence import FenceError, proof_fenced
    from worker.proof import order_of

    facts = done.reading.facts
    if not facts.pages:
        unreadable = facts.document.unreadable
        return say(f"{out}: there is no proof of {file.name}: {unreadable.detail if unreadable else 'it has no pages'}")
    try:
        with TemporaryDirectory(prefix=".pressworthy-", dir=out.parent) as beside:
            made = Path(beside) / "proof.pdf"
            proof_fenced(file, order_of(done.report, facts, done.profile), out=made, limits=limits)
            made.replace(out)
    except FenceError as error:
        return say(f"{out}: there is no proof of {file.name}: {error}")
    except OSError as error:
        return say(f"{out}: {error.strerror or error}; choose a place that can be written")
    return True


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--lines", is_flag=True, help="Show each page's lines of text too.")
@click.option("-o", "out", type=click.Path(path_type=Path), help="Write there and not to standard output.")
def measure(file: Path, lines: bool, out: Path | None) -> None:
    """The facts of FILE as JSON, with no printer in mind."""
    from worker.fence import FenceError, read_fenced

    limits = _limits()
    _usable(file, limits)
    try:
        with _progress() as on_progress:
            reading = read_fenced(file, name=file.name, limits=limits, on_progress=on_progress)
    except FenceError as error:
        refuse(f"{file.name}: {error}")
    measured = reading.measurements if lines else reading.facts
    left_out = None if lines else {"pages": {"__all__": {"lines"}}}
    _put(measured.model_dump_json(indent=2, exclude=left_out), out)


@main.command()
@click.argument("profile_name", metavar="[ID|PATH]", required=False)
def profiles(profile_name: str | None) -> None:
    """List the printers; show one; say whether a profile file is sound."""
    from worker.profiles import builtin_profiles, describe

    if profile_name is not None:
        click.echo(describe(_profile(profile_name)))
        return
    for profile in builtin_profiles().values():
        click.echo(f"{profile.id:22} {profile.name}")


@main.command()
@click.option("--host", default="127.0.0.1", show_default=True)
@click.option("--port", default=8321, show_default=True, type=click.IntRange(0, 65535))
@DATA
def serve(host: str, port: int, data: Path | None) -> None:
    """Web pages, API, queue and worker on one machine."""
    from service.serve import Refused
    from service.serve import serve as run

    try:
        sys.exit(run(host, port, data))
    except Refused as refused:
        refuse(str(refused))


@main.command()
@click.option("--concurrency", type=click.IntRange(1, 64), help="Inspections side by side; else PRESSWORTHY_WORKERS.")
def worker(concurrency: int | None) -> None:
    """A worker for a shared broker (PRESSWORTHY_BROKER_URL and its companions)."""
    from dataclasses import replace

    from worker.run import run_worker
    from worker.settings import SettingsError
    from worker.store import StoreDown

    settings = settings_at(None)
    require_house(settings, named=False, may_begin=True)
    try:
        run_worker(replace(settings, workers=concurrency or settings.workers))
    except (SettingsError, StoreDown) as error:
        refuse(str(error))


@main.command()
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
@DATA
def standing(form: str, data: Path | None) -> None:
    """How the service stands: the queue, the workers, what is kept, and how inspections ended."""
    from service.standing_text import standing_text
    from worker import queue
    from worker.standing import standing_of
    from worker.store import StoreDown

    settings = settings_at(data)
    queue.configure(settings)
    store = store_at(data)
    try:
        store.check()
    except StoreDown as error:
        refuse(str(error))
    found = standing_of(store)
    click.echo(found.model_dump_json(indent=2, by_alias=True) if form == "json" else standing_text(found))


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@DATA
def backup(file: Path, data: Path | None) -> None:
    """Write all that is kept in the data folder to FILE, a tar archive. The service may run meanwhile.

    FILE opens everything, as the folder does: keep it where only you can read it.
    """
    from worker.backup import BackupRefused, back_up
    from worker.limits import show_bytes

    try:
        made = back_up(settings_at(data), file)
    except BackupRefused as refused:
        refuse(str(refused))
    click.echo(f"{file}: {made.inspections} inspections, {show_bytes(made.bytes)}")


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--data", type=click.Path(path_type=Path), help="The empty folder that is filled.")
def restore(file: Path, data: Path | None) -> None:
    """Fill an empty data folder with what the backup FILE holds."""
    from worker.backup import BackupRefused
    from worker.limits import show_bytes
    from worker.restore import restore as run

    settings = settings_at(data)
    try:
        found = run(settings, file)
    except BackupRefused as refused:
        refuse(str(refused))
    click.echo(f"{settings.data}: {found.inspections} inspections, {show_bytes(found.bytes)}")


def _profile(profile_name: str) -> Profile:
    from worker.profiles import ProfileError, load_profile

    try:
        return load_profile(profile_name)
    except ProfileError as error:
        refuse(str(error))


def _earlier(path: Path) -> Earlier:
    from worker.compare import LARGEST, NoReport, earlier_report

    try:
        with path.open("rb") as stream:
            return earlier_report(stream.read(LARGEST + 1))
    except OSError as error:
        refuse(f"--against {path}: {error.strerror or error}; name a report that can be read")
    except NoReport as error:
        refuse(f"--against {path}: {error}")


def _limits() -> Limits:
    from worker.limits import Limits, SettingsError

    try:
        return Limits.from_environment()
    except SettingsError as error:
        refuse(str(error))


def _usable(file: Path, limits: Limits) -> None:
    """Refuse what is no file, empty, too large or no PDF, each in one line that says what to do."""
    try:
        with file.open("rb") as stream:
            head = stream.read(_SIGNATURE_WITHIN)
        size = file.stat().st_size
    except OSError as error:
        refuse(f"{file}: {error.strerror or error}; name a PDF that can be read")
    if not head:
        refuse(f"{file}: the file is empty; export it again")
    if b"%PDF-" not in head:
        refuse(f"{file}: not a PDF; export the book as PDF and check that file")
    if size > limits.bytes:
        refuse(f"{file}: larger than {limits.in_words('bytes')}, the limit that PRESSWORTHY_MAX_BYTES sets")


@contextmanager
def _progress(doing: str = "measuring") -> Iterator[Callable[[int, int], None] | None]:
    """A bar on standard error, on a terminal only."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(doing, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)


def _put(text: str, out: Path | None) -> None:
    if out is None:
        click.echo(text)
        return
    try:
        out.write_text(text + "\n", encoding="utf-8")
    except OSError as error:
        refuse(f"{out}: {error.strerror or error}; choose a place that can be written")


main.add_command(member)
main.add_command(token)


if __name__ == "__main__":
    main()
