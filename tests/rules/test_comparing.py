"""A secondary block against its primary: what the A-B-A scheme cancels, and when it says nothing."""

import cmath
import math
from decimal import Decimal
from itertools import cycle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.reason import Weight
from refstd.eddy.signals import Display, show
from refstd.rules.comparing import (
    PRIMARY,
    SECONDARY,
    Agreement,
    Band,
    ComparedBlock,
    ComparedNotch,
    NotchCompared,
    Scan,
    SeenThrough,
    compare,
    pair_problems,
    scan_problems,
    together,
)
from tests.published import display_transforms, weighing_cycles

SIDES = (PRIMARY, SECONDARY)
BAND = Band(Decimal("1.0"), Decimal("5"), "PR-7, 5.2")
EVEN = Display(0.0, 0.0, 0.0, None)


def seen(display: Display = EVEN, measure: str = "horizontal and vertical", noise: str | None = None) -> SeenThrough:
    return SeenThrough(display, measure, "div", Decimal(noise) if noise else None)


def scans(*readings: tuple[str, str] | str, first: int = 0) -> list[Scan]:
    """Return scans of one notch in turn, primary first: (horizontal, vertical), or the one figure."""
    sides = cycle(SIDES[first:] + SIDES[:first])
    return [
        Scan("0.5 mm", side, Decimal(r[0]), Decimal(r[1])) if isinstance(r, tuple) else Scan("0.5 mm", side, None, Decimal(r))  # type: ignore[arg-type]
        for side, r in zip(sides, readings, strict=False)
    ]  # fmt: skip


def said(taken: list[Scan], through: SeenThrough | None = None, band: Band = BAND) -> NotchCompared:
    [found] = compare(taken, ["0.5 mm"], through or seen(), band)
    return found


def exactly(signals: list[complex], display: Display = EVEN) -> list[Scan]:
    """Return the scans in which a display shows these signals, with twelve decimals."""
    shown = [show(s, display) for s in signals]
    return scans(*((f"{h:.12f}", f"{v:.12f}") for h, v in shown))


@pytest.mark.parametrize(("before", "test", "after", "difference"), weighing_cycles.ABA)
def test_a_cycle_gives_the_difference_of_the_published_formula(
    before: float, test: float, after: float, difference: float
) -> None:
    """Planted bug it caught: the secondary was held against the first scan of the primary alone."""
    found = said(
        exactly([10 ** (level / 20) * 1j for level in (before, test, after)]), band=Band(Decimal(9), None, "x")
    )
    assert found.ratio_db == pytest.approx(difference, abs=1e-9)
    assert found.moved_db == pytest.approx(abs(after - before), abs=1e-9)


def test_a_longer_run_holds_each_test_against_its_neighbours() -> None:
    levels, _, mean = weighing_cycles.RUN
    found = said(exactly([10 ** (level / 20) * 1j for level in levels]), band=Band(Decimal(9), None, "x"))
    assert found.ratio_db == pytest.approx(mean, abs=1e-9)
    assert found.moved_db == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(
    ("reading", "baseline", "order", "db", "deg"),
    [row for row in display_transforms.DEVIATIONS if row[0][2:] == row[1][2:]],
)
def test_the_display_is_undone_as_in_the_reference_vectors(
    reading: tuple[float, ...], baseline: tuple[float, ...], order: str, db: float, deg: float
) -> None:
    """Planted bug it caught: the horizontal gain was undone on both axes."""
    rotation, horizontal_gain, vertical_gain = reading[2:]
    display = Display(rotation, horizontal_gain, vertical_gain, order)  # type: ignore[arg-type]
    around = (str(baseline[0]), str(baseline[1]))
    found = said(scans(around, (str(reading[0]), str(reading[1])), around), seen(display))
    assert found.ratio_db == pytest.approx(db, abs=1e-6)
    assert found.phase_deg == pytest.approx(deg, abs=1e-6)


def test_an_unknown_order_is_no_objection_since_all_scans_share_one_display() -> None:
    unknown = Display(30.0, 40.0, 52.0, None)
    found = said(scans(("3", "4"), ("6", "8"), ("3", "4")), seen(unknown))
    assert found.ratio_db == pytest.approx(20 * math.log10(2))
    assert found.phase_deg == pytest.approx(0.0)
    assert "as seen, common gain undone" in found.in_words()


levels = st.floats(-6, 6)
turns = st.floats(-170, 170)


@given(levels, turns, st.floats(-0.3, 0.3), st.floats(-2, 2), st.sampled_from((3, 5, 7)))
def test_a_straight_drift_of_amplitude_and_phase_cancels_exactly(
    db: float, deg: float, drift_db: float, drift_deg: float, count: int
) -> None:
    """Law: levels that run straight in time leave the ratio as it is. Planted bug it caught: neighbours were one apart."""
    signals = [
        cmath.rect(10 ** ((20 + n * drift_db + (db if n % 2 else 0)) / 20), math.radians(n * drift_deg + (deg if n % 2 else 0)))
        for n in range(count)
    ]  # fmt: skip
    found = said(exactly(signals))
    assert found.ratio_db == pytest.approx(db, abs=1e-6)
    assert found.phase_deg == pytest.approx(deg, abs=1e-6)


@given(levels, turns, st.floats(-0.3, 0.3), st.floats(-2, 2))
def test_exchanging_the_blocks_turns_the_sign(db: float, deg: float, drift_db: float, drift_deg: float) -> None:
    """Law: what B is to A, A is to B with the other sign. Planted bug it caught: the ratio was taken without its sign."""

    def found(first: int) -> NotchCompared:
        return said(
            exactly(
                [
                    cmath.rect(10 ** ((20 + n * drift_db + (db if n % 2 != first else 0)) / 20),
                               math.radians(n * drift_deg + (deg if n % 2 != first else 0)))
                    for n in range(3)
                ]
            )
        )  # fmt: skip

    one, other = found(0), found(1)
    assert one.ratio_db is not None
    assert one.phase_deg is not None
    assert other.ratio_db == pytest.approx(-one.ratio_db, abs=1e-6)
    assert other.phase_deg == pytest.approx(-one.phase_deg, abs=1e-6)


def test_the_phase_is_the_short_way_round() -> None:
    found = said(exactly([cmath.rect(8, math.radians(a)) for a in (178, -179, -178)]))
    assert found.phase_deg == pytest.approx(1.0, abs=1e-6)
    assert found.outcome is Agreement.AGREES


def test_u_of_the_digit_is_that_of_the_published_rule() -> None:
    """A resolution of δx has u = 0.29·δx (JCGM 100:2008, F.2.2.1); B counts whole, each A by half."""
    found = said(scans("5.0", "5.0", "5.0"), seen(measure="vertical peak to peak"))
    u_scan_db = 20 / math.log(10) * 0.29 * 0.1 / 5.0
    [reason] = found.reasons
    assert float(reason.figure.split("U ")[1].split(" dB")[0]) == pytest.approx(
        2 * u_scan_db * math.sqrt(1.5), abs=0.006
    )
    assert "no noise on record" in reason.figure
    assert found.phase_deg is None


@pytest.mark.parametrize(
    ("last", "outcome"), [("5.61", Agreement.AGREES), ("5.62", Agreement.NOT), ("4.46", Agreement.AGREES), ("4.45", Agreement.NOT)]
)  # fmt: skip
def test_the_band_decides_on_either_side(last: str, outcome: Agreement) -> None:
    """5.00 to 5.61 is +1.0000 dB, to 5.62 +1.0154 dB; to 4.46 −0.993 dB, to 4.45 −1.012 dB (20·log10, by hand)."""
    found = said(scans("5.00", last, "5.00"), seen(measure="vertical peak to peak"))
    assert found.outcome is outcome
    weight = Weight.SUPPORTS if outcome is Agreement.AGREES else Weight.STOPS
    assert [(r.limit, r.source, r.weight) for r in found.reasons] == [("±1.0 dB", "PR-7, 5.2", weight)]
    assert "U" in found.reasons[0].figure


def test_phase_decides_only_with_a_band() -> None:
    turned = exactly([8j, cmath.rect(8, math.radians(97)), 8j])
    assert said(turned).outcome is Agreement.NOT
    without = said(turned, band=Band(Decimal(1), None, "PR-7"))
    assert without.outcome is Agreement.AGREES
    assert "+7.0°" in without.in_words()


def test_what_moved_by_more_than_the_band_decides_nothing() -> None:
    """Planted bug it caught: the first and last scans of the primary were compared, and a there-and-back was missed."""
    through = seen(measure="vertical peak to peak")
    drifted = said(scans("5.00", "5.30", "5.70"), through)
    assert drifted.outcome is Agreement.NOT_CONCLUSIVE
    assert "the primary moved between its scans by more than the band" in drifted.in_words()
    assert drifted.ratio_db is not None
    there_and_back = said(scans("5.00", "5.30", "5.70", "5.30", "5.00"), through)
    assert there_and_back.outcome is Agreement.NOT_CONCLUSIVE
    rounds = said(scans("5.00", "5.00", "5.00", "5.70", "5.00"), through)
    assert "its rounds differ" in rounds.in_words()
    assert rounds.outcome is Agreement.NOT_CONCLUSIVE
    assert all(r.cure for r in rounds.reasons if r.weight is Weight.UNDECIDED)


def test_a_band_finer_than_u_decides_nothing_unless_the_difference_is_beyond_both() -> None:
    through, narrow = seen(measure="vertical peak to peak"), Band(Decimal("0.1"), None, "PR-7")
    assert said(scans("5.0", "5.0", "5.0"), through, narrow).outcome is Agreement.NOT_CONCLUSIVE
    assert said(scans("5.0", "9.0", "5.0"), through, narrow).outcome is Agreement.NOT


@pytest.mark.parametrize(
    ("taken", "through", "why"),
    [
        (("5.0", "0.0", "5.0"), seen(measure="vertical peak to peak"), "shows no deflection"),
        (("5.0", "-5.0", "5.0"), seen(measure="vertical from balance"), "points the other way"),
        (("5.0", "4.9", "5.0"), seen(measure="vertical peak to peak", noise="1.0"), "deflects by only 4.9 × the noise"),
    ],
)
def test_what_has_no_figure_is_not_conclusive_with_a_next_step(
    taken: tuple[str, ...], through: SeenThrough, why: str
) -> None:
    found = said(scans(*taken), through)
    assert (found.outcome, found.ratio_db) == (Agreement.NOT_CONCLUSIVE, None)
    assert why in found.in_words()
    assert found.reasons[0].cure


def test_one_notch_that_does_not_agree_decides_for_the_block() -> None:
    """Planted bug it caught: not conclusive stood before does not agree."""
    one = said(scans("5.00", "5.00", "5.00"), seen(measure="vertical peak to peak"))
    off = said(scans("5.00", "7.00", "5.00"), seen(measure="vertical peak to peak"))
    void = said(scans("5.00", "0.00", "5.00"), seen(measure="vertical peak to peak"))
    assert together([one, void, off]) is Agreement.NOT
    assert together([one, void]) is Agreement.NOT_CONCLUSIVE
    assert together([one]) is Agreement.AGREES


NOTCHES = (
    ComparedNotch("0.5 mm", Decimal("0.5"), "face", "EDM"),
    ComparedNotch("1.0 mm", Decimal("1.00"), "face", "EDM"),
)


def block(asset_no: str, grade: str, *, state: str = "in service", family: str = "aluminium alloy", notches: tuple[ComparedNotch, ...] = NOTCHES) -> ComparedBlock:  # fmt: skip
    return ComparedBlock(asset_no, grade, state, family, notches)


@pytest.mark.parametrize(
    ("primary", "secondary", "wrong"),
    [
        (block("B-1", "secondary"), block("B-2", "secondary"), "B-1 is a secondary block, not a primary one"),
        (block("B-1", "primary"), block("B-2", "primary"), "B-2 is a primary block, not a secondary one"),
        (block("B-1", "primary"), block("B-2", "secondary", state="lost"), "B-2 is lost"),
        (block("B-1", "primary", family="titanium alloy"), block("B-2", "secondary"), "of aluminium alloy, B-1 of titanium alloy"),
        (block("B-1", "primary", notches=NOTCHES[:1]), block("B-2", "secondary"), "B-1 has no notch of that label"),
        (block("B-1", "primary", notches=(NOTCHES[0], ComparedNotch("1.0 MM", Decimal("1.1"), "face", "EDM"))),
         block("B-2", "secondary"), "is 1.00 mm deep as nominal, its like on the primary 1.1 mm"),
        (block("B-1", "primary", notches=(NOTCHES[0], ComparedNotch("1.0 mm", Decimal("1.0"), "edge", "EDM"))),
         block("B-2", "secondary"), "is EDM, face; its like on the primary is EDM, edge"),
        (block("B-1", "primary"), block("B-2", "secondary", notches=()), "has no notches on record"),
    ],
)  # fmt: skip
def test_blocks_that_are_not_alike_are_refused_with_the_reason(
    primary: ComparedBlock, secondary: ComparedBlock, wrong: str
) -> None:
    [problem] = pair_problems(primary, secondary)
    assert wrong in problem.wrong
    assert problem.remedy


def test_alike_blocks_may_be_compared_whatever_else_the_primary_has() -> None:
    more = ComparedNotch("2.0 mm", Decimal(2), "face", "EDM")
    depth_as_written = (NOTCHES[0], ComparedNotch("1.0 mm", Decimal("1.0"), "face", "EDM"))
    assert pair_problems(block("B-1", "primary", notches=(*depth_as_written, more)), block("B-2", "secondary")) == []


@pytest.mark.parametrize(
    ("turns", "wrong"), [("AB", "A-B"), ("ABB", "A-B-B"), ("BAB", "B-A-B"), ("ABAB", "A-B-A-B"), ("A", "A"), ("AABA", "A-A-B-A")]
)  # fmt: skip
def test_scans_out_of_turn_are_told(turns: str, wrong: str) -> None:
    sides = {"A": PRIMARY, "B": SECONDARY}
    taken = [Scan("0.5 mm", sides[t], None, Decimal(5)) for t in turns]  # type: ignore[arg-type]
    [problem] = scan_problems(taken, ["0.5 mm"], seen(measure="vertical peak to peak"))
    assert problem.wrong == f"was read {wrong}"


def test_every_notch_is_read_in_its_own_order_and_by_the_measure() -> None:
    through = seen(measure="vertical peak to peak")
    taken = scans("5", "5", "5", "5", "5")
    assert scan_problems(taken, ["0.5 MM"], through) == []
    assert [p.wrong for p in scan_problems(taken, ["0.5 mm", "1.0 mm"], through)] == ["was not read"]
    assert next(p.where for p in scan_problems(taken, ["1.0 mm"], through)) == "notch 0.5 mm"
    assert "misses its horizontal part" in scan_problems(taken, ["0.5 mm"], seen())[0].wrong
