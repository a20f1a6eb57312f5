"""An item that a paper finds out of tolerance: what was done with it is in doubt back to the last paper that left it right."""

import shutil
from dataclasses import dataclass, field
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import given as given_
from hypothesis import strategies as st
from sqlalchemy import select

from refstd.desk import certificates, checks, comparisons, doubt, findings, lots
from refstd.desk.doubt import CAUSE
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.filed import filed
from refstd.desk.known import named
from refstd.desk.log import log_entries
from refstd.desk.lookback import lookback
from refstd.desk.serviceability import status
from refstd.desk.store import Lab, When, open_store, verify
from refstd.register.equipment import Equipment
from refstd.register.findings import Finding, FindingHold
from tests import thin_thread as given
from tests.given import KEEPER

LIMITS = {
    "0.5 mm": {"lower_limit": "0.45", "upper_limit": "0.55", "limit_source": "drawing 7"},
    "1.0 mm": {"lower_limit": "0.95", "upper_limit": "1.05", "limit_source": "drawing 7"},
    "1.5 mm": {"lower_limit": "1.40", "upper_limit": "1.60", "limit_source": "drawing 7"},
}


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with everything for a job and a baseline; the block has a calibration without values."""
    given.whole(lab)
    given.baseline(lab)
    given.job(lab, "J-2")
    return lab


def file(
    lab: Lab, number: str, done: str, minutes: float, found: str = "", left: str = "", notch: str = "0.5 mm", supersedes: str = "",
    **fields: str,
) -> None:  # fmt: skip
    """File a calibration of B-1 with the depth of a notch as found, as left, or both (then it was adjusted)."""
    head = {"asset_no": "B-1", "number": number, "laboratory": "a laboratory", "performed_on": done} | fields
    head |= {"adjusted": "yes", "adjustment": "dressed"} if found and left else {}
    values = [
        draft(certificates.ValueDraft, LIMITS[notch] | {"notch": notch, "stage": stage, "value": value}, notch)
        for stage, value in (("as found", found), ("as left", left))
        if value
    ]
    certificates.file_certificate(
        lab, draft(certificates.CertificateDraft, head, number), values, supersedes=supersedes,
        why="misread" if supersedes else "", by=KEEPER, now=given.at(minutes),
    )  # fmt: skip


def about_papers(lab: Lab, minutes: float = 600) -> list[findings.FindingShown]:
    return [f for f in findings.findings(lab, given.when(minutes)) if f.cause == CAUSE]


def held(lab: Lab, minutes: float = 600) -> list[list[str]]:
    return [[x.number for x in f.lots] for f in about_papers(lab, minutes)]


def doubted(lab: Lab, finding: str) -> list[str]:
    return [x.number for x in lookback(lab, finding, given.when()).lots]


def test_one_act_files_the_paper_opens_the_finding_and_holds_the_lots_past_acceptable_checks(ready: Lab) -> None:
    """ISO/IEC 17025:2017, 7.10.1 c (MEMORY): an evaluation of nonconforming work includes its impact on previous results.

    The last acceptable check in between does not end the look-back.
    """
    file(ready, "K1", "2031-03-01", 1, left="0.50")
    start = given.check(ready, "start", minutes=10).number
    first = given.lot(ready, start, "panel 4", 20)
    interim = given.check(ready, "interim", minutes=30).number
    second = given.lot(ready, start, "panel 4", 40)
    end = given.check(ready, "end", minutes=50).number
    before = log_entries(ready, given.when(), count=1)[0].sequence
    file(ready, "K2", "2031-03-14", 60, found="0.56", left="0.50")
    entry = log_entries(ready, given.when(), count=1)[0]
    assert entry.sequence == before + 1
    kept = {"certificate": 1, "certified_value": 2, "conformity": 2, "finding": 1, "finding_hold": 2}
    assert dict(entry.tables) == kept
    [found] = findings.findings(ready, given.when())
    assert found.says == (
        "B-1 was found out of tolerance by certificate K2 of 2031-03-14: notch 0.5 mm depth 0.56 mm, limits 0.45 to 0.55 mm "
        "(drawing 7), 120% of the tolerance used (compared simply); what was done with it since certificate K1 of 2031-03-01 is in doubt"
    )
    assert (found.cause, found.certificate, found.items) == ("found out of tolerance", "K2", ())
    assert [x.number for x in found.lots] == [first, second]
    back = lookback(ready, found.number, given.when())
    assert back.since_record == "certificate K1 of 2031-03-01, which left it in tolerance"
    assert str(back.since) == "2031-03-01 00:00:00+00:00"
    assert [x.number for x in back.lots] == [first, second]
    assert [c.number for c in back.checks if c.job] == [start, interim, end]
    assert back.jobs == ("J-1",)
    assert (
        status(ready, ["B-1"], given.when())[0].verdict.standing == "serviceable"
    )  # adjusted: it may be used from now on
    assert "look back" in " ".join(status(ready, ["B-1"], given.when())[0].verdict.in_words())
    assert verify(ready.path, deep=True).whole


def test_as_at_an_instant_a_hold_added_later_holds_and_hides_nothing(ready: Lab) -> None:
    """Planted: the holds asked for without the entry up to which the look goes. No act adds such a hold yet."""
    file(ready, "K1", "2031-03-01", 1, left="0.50")
    file(ready, "K2", "2031-03-14", 10, found="0.56", left="0.50")
    with ready.change(by=KEEPER, now=given.at(30)) as change:
        finding, item = change.session.execute(select(Finding.id)).scalar_one(), named(change, Equipment, "B-1")
        change.add(FindingHold(finding_id=finding, equipment_id=item.id))
        change.record("item held")
    then = When(given.at(20), as_at=given.at(20))
    verdict = status(ready, ["B-1"], then)[0].verdict
    assert verdict.standing == "serviceable"
    assert "finding F-0001" in [r.record for r in verdict.reasons]
    assert status(ready, ["B-1"], given.when())[0].verdict.standing == "do not use"


def test_a_paper_that_did_not_say_it_of_this_notch_does_not_end_the_look_back(ready: Lab) -> None:
    """Not the newest certificate before counts, but the newest that says something of the notch."""
    file(ready, "K1", "2031-03-01", 1, left="0.50")
    file(ready, "K2", "2031-03-05", 2, left="1.0", notch="1.0 mm")
    file(ready, "K3", "2031-03-14", 3, found="0.56")
    [found] = about_papers(ready)
    assert lookback(ready, found.number, given.when()).since_record.startswith("certificate K1")


def test_of_a_new_item_nothing_is_in_doubt(lab: Lab) -> None:
    given.people_and_material(lab)
    given.block(lab)
    file(lab, "K1", "2031-03-01", 1, left="0.60")
    assert findings.findings(lab, given.when()) == ()
    says = filed(lab, "B-1", "K1", given.when()).in_doubt
    assert says == doubt.NOTHING_IN_DOUBT
    assert says in filed(lab, "B-1", "K1", given.when()).in_words()


def test_a_check_written_down_late_takes_back_that_nothing_rested_on_a_new_item(lab: Lab) -> None:
    """Planted: the page told for ever what was so on the day of filing."""
    given.whole(lab)
    file(lab, "K1", "2031-03-14", 10, left="0.60")
    assert filed(lab, "B-1", "K1", given.when()).in_doubt == doubt.NOTHING_IN_DOUBT
    late = given.check(lab, "start", minutes=30, happened_at="2031-03-14T12:05").number
    says = filed(lab, "B-1", "K1", given.when()).in_doubt
    assert f"written down since, from before it: start check {late} on setup S-0001, job J-1" in says
    assert says.endswith("Open a finding on the item")


def test_a_lot_written_down_late_is_held_and_by_another_finding_once_the_first_is_decided(ready: Lab) -> None:
    file(ready, "K1", "2031-03-01", 1, left="0.50")
    start = given.check(ready, "start", minutes=10).number
    file(ready, "K2", "2031-03-14", 60, found="0.56")
    [found] = about_papers(ready)
    late = lots.log_lot(ready, _lot(start, 20), by="TESS", now=given.at(70))
    assert (late.finding, late.why) == (found.number, "an item of the kit was found out of tolerance")
    assert held(ready) == [[late.number]]
    findings.act_on(ready, found.number, "disposition", "panel 4 stands", by="LENA", now=given.at(80))
    later = lots.log_lot(ready, _lot(start, 30), by="TESS", now=given.at(90))
    assert held(ready) == [[late.number], [later.number]]
    second = about_papers(ready)[1]
    assert second.says.startswith(
        f"more lots are in doubt than were known when {found.number} was decided: B-1 was found"
    )
    assert doubted(ready, found.number) == doubted(ready, second.number) == [late.number, later.number]


def test_withdrawing_the_paper_that_ended_the_look_back_holds_what_was_examined_before_it(ready: Lab) -> None:
    """What the longer look-back lists on the screen is held too."""
    file(ready, "K0", "2031-02-01", 1, left="0.50")
    start = given.check(ready, "start", minutes=10, happened_at="2031-02-10T09:00").number
    early = lots.log_lot(ready, _lot(start, happened_at="2031-02-10T09:30"), by="TESS", now=given.at(11)).number
    file(ready, "K1", "2031-03-01", 12, left="0.50")
    file(ready, "K2", "2031-03-14", 60, found="0.56")
    assert held(ready) == [[]]
    certificates.withdraw_certificate(ready, "B-1", "K1", "of another block", by=KEEPER, now=given.at(70))
    assert held(ready) == [[early]]


def test_a_correction_that_finds_the_same_asks_once_and_one_that_finds_it_right_holds_nothing_more(ready: Lab) -> None:
    file(ready, "K1", "2031-03-01", 1, left="0.50")
    start = given.check(ready, "start", minutes=10).number
    file(ready, "K2", "2031-03-14", 60, found="0.56")
    file(ready, "K2a", "2031-03-14", 61, found="0.56", supersedes="K2", place="in the lab")
    late = lots.log_lot(ready, _lot(start, 20), by="TESS", now=given.at(62)).number
    assert held(ready) == [[late]]
    file(ready, "K2b", "2031-03-14", 63, found="0.53", supersedes="K2a")
    lots.log_lot(ready, _lot(start, 30), by="TESS", now=given.at(64))
    assert held(ready) == [[late]]


def test_blocks_that_were_compared_with_a_primary_found_out_are_listed(ready: Lab) -> None:
    """What rests on a comparison rests on the primary: the secondary's own users look on from there."""
    compared(ready, 1.0, 10)
    head = {"asset_no": "B-10", "number": "K2", "laboratory": "a laboratory", "performed_on": "2031-03-14"}
    paper = draft(certificates.CertificateDraft, head | {"result": "not sound"}, "K2")
    certificates.file_certificate(ready, paper, (), by=KEEPER, now=given.at(100))
    [found] = about_papers(ready)
    assert "the result of certificate K2 is 'not sound'" in found.says
    back = lookback(ready, found.number, given.when())
    assert [c.in_words() for c in back.comparisons] == ["comparison CB-0001: B-1 agrees"]


def test_a_block_that_no_longer_agrees_with_its_primary_puts_in_doubt_what_was_done_since_it_last_did(
    ready: Lab,
) -> None:
    compared(ready, 1.0, 10)
    start = given.check(ready, "start", minutes=20).number
    lot = given.lot(ready, start, "panel 4", 30)
    given.check(ready, "end", minutes=40)
    compared(ready, 0.7, 50)
    [found] = findings.findings(ready, given.when())
    assert (found.cause, found.items) == ("does not agree with its primary", ("B-1",))
    assert [x.number for x in found.lots] == [lot]
    back = lookback(ready, found.number, given.when())
    assert back.since_record == "certificate CB-0001 of 2031-03-14, which left it in tolerance"


def compared(lab: Lab, scale: float, minutes: float) -> None:
    """Compare B-1 with a certified primary, B-10, its signals at a share of the primary's."""
    if minutes == 10:
        given.block(lab, "B-10", grade="primary")
        given.certified(lab, "B-10")
    head = {"primary": "B-10", "secondary": "B-1", "instrument": "I-1", "probe": "P-1", "frequency_khz": "200"}
    head |= {"unit": "% FSH", "noise": "0.5", "band_db": "1.0", "band_source": "practice 6.1"} | given.SETTINGS
    scans = [
        {"block": turn, "notch": n, "horizontal": f"{float(h) * size:.1f}", "vertical": f"{float(v) * size:.1f}"}
        for n, (h, v) in given.HEIGHTS.items()
        for turn, size in (("A", 1.0), ("B", scale), ("A", 1.0))
    ]
    comparisons.compare_blocks(
        lab, draft(comparisons.ComparisonDraft, head, "comparison"), [draft(comparisons.ScanDraft, x, "scan") for x in scans],
        by="TESS", now=given.at(minutes),
    )  # fmt: skip


def _lot(start: str, minutes: float = 0, happened_at: str = "", job: str = "J-1") -> lots.LotDraft:
    moment = happened_at or f"{given.at(minutes):%Y-%m-%dT%H:%M}"
    return draft(lots.LotDraft, {"job": job, "start_check": start, "parts": "panel 4", "examined_at": moment}, "lot")


@dataclass
class Facts:
    """What was done, kept beside the store, and the look-back by brute force: every lot against every paper in force.

    papers: number → day, notch, found right, left right, adjusted. lots: number → day, whether on the job that reads the
    0.5 mm notch. held: certificate → lots that its findings must hold.
    """

    papers: dict[str, tuple[int, str, bool, bool, bool]] = field(default_factory=dict)
    lots: dict[str, tuple[int, bool]] = field(default_factory=dict)
    held: dict[str, set[str]] = field(default_factory=dict)

    def doubted(self, number: str) -> set[str]:
        """Return the lots in doubt by a paper: those that no paper which left the notch right parts from it in time."""
        day, notch, _, left, adjusted = self.papers[number]
        right = [d for n, (d, at, _, good, _) in self.papers.items() if at == notch and good and n != number]

        def parted(lot: int) -> bool:
            if lot < day:
                return any(lot < d < day for d in right)
            return (adjusted and left) or any(day < d < lot for d in right)

        return {n for n, (d, small) in self.lots.items() if (small or notch != "0.5 mm") and not parted(d)}

    def taken_down(self) -> None:
        """Take down what is to be held after an act; what is held once stays held."""
        for number, (_, _, found, _, _) in self.papers.items():
            if not found:
                self.held.setdefault(number, set()).update(self.doubted(number))


def february(day: int) -> str:
    return f"2031-02-{day:02}"


def work(lab: Lab, facts: Facts, day: int, minutes: float, *, small: bool) -> None:
    """Make a start check on one of two jobs and log a lot half an hour after it, both written down later."""
    job = "J-1" if small else "J-2"
    read = [r for r in given.readings() if small or r.notch != "0.5 mm"]
    head = given.check_draft("start", job=job, happened_at=f"{february(day)}T09:00")
    start = checks.record_check(lab, head, read, by="TESS", now=given.at(minutes))
    assert start.outcome == "acceptable"
    draft_ = _lot(start.number, happened_at=f"{february(day)}T09:30", job=job)
    facts.lots[lots.log_lot(lab, draft_, by="TESS", now=given.at(minutes + 1)).number] = (day, small)


ACT = st.one_of(
    st.tuples(st.just("work"), st.booleans()),
    st.tuples(st.just("paper"), st.sampled_from(["0.5 mm", "1.5 mm"]), st.booleans(), st.sampled_from([None, True, False])),
    st.tuples(st.just("withdraw"), st.integers(0, 3)),
)  # fmt: skip


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=15)
@given_(st.lists(ACT, min_size=3, max_size=8), st.permutations(range(1, 9)))
def test_over_any_history_in_any_order_of_writing_down_the_look_back_is_what_the_facts_say(
    ready: Lab, tmp_path_factory: pytest.TempPathFactory, acts: list[tuple[Any, ...]], days: list[int]
) -> None:
    """Each act happens on a day of its own; papers, checks and lots are written down in any order, and papers withdrawn.

    Planted bugs it caught: lots written down after the paper were not held; lots after an adjustment were held.
    """
    path = tmp_path_factory.mktemp("history") / "lab.refstd"
    shutil.copyfile(ready.path, path)
    lab, facts = open_store(path), Facts()
    file(lab, "K0", "2031-01-10", 1, left="1.00", notch="1.0 mm")
    depth = {"0.5 mm": ("0.60", "0.50"), "1.5 mm": ("1.70", "1.50")}
    for n, (kind, *said) in enumerate(acts):
        minutes = 10 * (n + 1)
        if kind == "work":
            work(lab, facts, days[n], minutes, small=said[0])
        elif kind == "paper":
            notch, right, left = said
            shown = {"found": depth[notch][right]} | ({} if left is None else {"left": depth[notch][left]})
            file(lab, f"K{n + 1}", february(days[n]), minutes, notch=notch, **shown)
            facts.papers[f"K{n + 1}"] = (days[n], notch, right, right if left is None else left, left is not None)
        elif facts.papers:
            gone = list(facts.papers)[said[0] % len(facts.papers)]
            certificates.withdraw_certificate(lab, "B-1", gone, "of another block", by=KEEPER, now=given.at(minutes))
            del facts.papers[gone]
        facts.taken_down()
    held_by: dict[str, set[str]] = {}
    for f in about_papers(lab):
        held_by.setdefault(f.certificate, set()).update(x.number for x in f.lots)
        if f.certificate in facts.papers:
            assert set(doubted(lab, f.number)) == facts.doubted(f.certificate)
    assert held_by == facts.held
    lab.close()
