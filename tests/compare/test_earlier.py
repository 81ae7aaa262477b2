"""An earlier report is a stranger's: whatever is no report is refused with one clear line, and never taken for one."""

from __future__ import annotations

import json
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.compare.test_comparison import _report
from worker.compare import LARGEST, Earlier, NoReport, compared, earlier_report

WHOLE = json.loads(_report({"widow": (3,)}, name="old.pdf").model_dump_json())
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=10), inner, max_size=4),
    max_leaves=10,
)


def test_a_report_is_taken_up() -> None:
    taken = earlier_report(json.dumps(WHOLE).encode())
    assert (taken.file.name, taken.pages, [each.key for each in taken.findings]) == ("old.pdf", 30, ["widow"])


def test_members_of_a_later_version_are_passed_over() -> None:
    later = WHOLE | {"weather": "fog", "findings": [each | {"mood": 3} for each in WHOLE["findings"]]}
    assert earlier_report(json.dumps(later).encode()) == earlier_report(json.dumps(WHOLE).encode())


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (b"", "not JSON that holds a report"),
        (b"%PDF-1.7", "not JSON that holds a report"),
        (b"[1, 2]", "not JSON that holds a report"),
        (b"\xff\xfe{", "not JSON that holds a report"),
        (b"[" * 100_000, "not JSON that holds a report"),
        (b"{}", "does not say that it is a report"),
        (b'{"schema": "pressworthy.measurements/1"}', "only 'pressworthy.report/1'"),
        (b'{"schema": "pressworthy.report/2"}', "only 'pressworthy.report/1'"),
        (b'{"schema": "pressworthy.report/1"}', "verdict is missing or wrong"),
        (b" " * (LARGEST + 1), "larger than 32 MB"),
    ],
)
def test_what_is_no_report_is_refused_in_one_line(given: bytes, says: str) -> None:
    with pytest.raises(NoReport) as refused:
        earlier_report(given)
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("member", "value"),
    [
        ("verdict", "splendid"),
        ("pages", -1),
        ("pages", 10**40),
        ("traces", "aaaa"),
        ("traces", ["a" * 5000]),
        ("findings", [WHOLE["findings"][0] | {"pages": [0]}]),
        ("findings", [WHOLE["findings"][0] | {"weight": "heavy"}]),
        ("file", {"name": "x" * 5000, "sha256": ""}),
        ("measured_at", "yesterday"),
    ],
)
def test_a_report_that_is_not_whole_is_refused(member: str, value: object) -> None:
    with pytest.raises(NoReport, match=f"{member}.* is missing or wrong"):
        earlier_report(json.dumps(WHOLE | {member: value}).encode())


@given(st.dictionaries(st.sampled_from(sorted(WHOLE)), JSON, max_size=3))
def test_any_json_is_compared_or_refused(changed: dict[str, object]) -> None:
    earlier: Earlier | None = None
    with suppress(NoReport):
        earlier = earlier_report(json.dumps(WHOLE | changed).encode())
    assert earlier is None or compared(_report({"widow": (3,)}, name="new.pdf"), earlier).comparison is not None
