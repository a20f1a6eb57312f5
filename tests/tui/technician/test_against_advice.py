"""A kit that does not suit is taken by keys where somebody with the authority decides it."""

from pathlib import Path

from refstd.desk import custody
from refstd.desk.against import against_advice
from refstd.desk.store import open_store
from tests import given as lab_given
from tests import thin_thread as given
from tests.tui.driving import driven


async def test_items_go_against_advice_with_who_and_why(tmp_path: Path) -> None:
    path = tmp_path / "lab.refstd"
    lab = lab_given.new_lab(path)
    given.whole(lab)
    given.job(lab, "J-2", material="TI")
    lab.close()
    async with driven(path, "TESS", now=given.at(60)) as d:
        await d.keys("down", "m")
        assert "No kit suits the job" in d.text
        await d.keys("o", "ctrl+u")
        await d.type("b-1 p-1 i-1")
        await d.keys("enter")
        assert "LENA" in d.text
        assert "TOM" not in d.text
        await d.keys("enter")
        await d.type("part is read beside it")
        await d.keys("enter")
        assert "B-1, P-1, I-1 out to TESS for job J-2" in d.notices
    lab = open_store(path)
    assert [o.asset_no for o in custody.out_now(lab, given.when())] == ["B-1", "I-1", "P-1"]
    assert [(a.decided_by, a.why) for a in against_advice(lab, given.when())] == [("LENA", "part is read beside it")]
    lab.close()
