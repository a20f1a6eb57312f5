"""Fresh eyes after a repair: what was named before it is not forgotten before the checks since can say anything."""

import shutil
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from refstd.base.reason import Weight
from refstd.desk import events, findings, serviceability, suspects
from refstd.desk.clock import now_in
from refstd.desk.entry import draft_or_refuse
from refstd.desk.store import When, open_store
from refstd.metrology.attribution import Judgement
from refstd.rules.suspects import checked_enough


def test_a_named_probe_stands_after_its_repair_until_a_finding_on_it_is_decided(sample: Path, tmp_path: Path) -> None:
    own = shutil.copy(sample, tmp_path / "own.refstd")
    lab = open_store(Path(own))
    try:
        now = now_in(lab)
        [named] = suspects.suspects(lab, When(now)).about("P-202")
        assert named.before == ""
        fields = {"asset_no": "P-202", "event": "repaired"}
        events.record_event(lab, draft_or_refuse(events.EventDraft, fields, "event"), by="TAM", now=now)
        later = now + timedelta(minutes=5)
        found = suspects.suspects(lab, When(later))
        [before] = found.about("P-202")
        assert before.before == f"P-202: repaired {now:%Y-%m-%d}"
        assert before.evidence == named.evidence
        assert before.readings == named.readings
        assert {s.candidate.code for s in found.found} == {"B-104", "I-302", "P-202"}
        [told] = [
            r for r in serviceability.status(lab, ["P-202"], When(later))[0].verdict.reasons if r.rule == "suspect"
        ]
        assert told.weight is Weight.ADVISES
        assert "not checked enough since" in told.says
        assert "swap test" in told.cure
        fields = {"cause": "other", "says": "named by the evidence", "item": "P-202"}
        number = findings.open_finding(
            lab, draft_or_refuse(findings.FindingDraft, fields, "finding"), by="TAM", now=later
        )
        assert suspects.suspects(lab, When(later)).about("P-202")
        findings.act_on(lab, number, "disposition", "looked at after the repair", by="GRETA", now=later)
        assert suspects.suspects(lab, When(later)).about("P-202") == ()
    finally:
        lab.close()


def test_checks_suffice_once_they_would_name_it_were_it_as_far_off_as_before(sample: Path) -> None:
    """The bar is that of a name: score 5 = effect / standard uncertainty."""
    lab = open_store(sample)
    try:
        [named] = suspects.suspects(lab, When(now_in(lab))).about("P-202")
    finally:
        lab.close()
    enough = replace(named.evidence, effect_db=0.0, u_effect_db=abs(named.evidence.effect_db) / 5.01)
    too_few = replace(enough, u_effect_db=abs(named.evidence.effect_db) / 4.99)
    assert checked_enough(named, Judgement(rankings=((enough,),)))
    assert not checked_enough(named, Judgement(rankings=((too_few,),)))
    assert not checked_enough(named, Judgement())
