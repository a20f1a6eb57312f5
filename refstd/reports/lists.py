"""Everything else on record as plain lists: procedures, jobs, setups, checks, lots, materials, issued reports."""

from refstd.base.text import key
from refstd.desk.check_record import conditions_in_words
from refstd.desk.deferrals import deferrals_in
from refstd.desk.issuing import issued_in
from refstd.desk.jobs import jobs_in, lots_of, materials_in
from refstd.desk.kept_checks import checks_in
from refstd.desk.procedures import ProcedureShown, all_revisions_in, procedures_in
from refstd.desk.setups import setups_in
from refstd.desk.store import Lab, When
from refstd.desk.tolerances import tolerances_in
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant, text


def materials_sheet(lab: Lab, when: When) -> Sheet:
    """Return the materials with the source of their values."""
    columns = (
        Column("code", "Code", width=10),
        Column("name", "Name", width=20),
        Column("family", "Family", width=16),
        Column("magnetic_class", "Magnetic class", width=12),
        Column("conductivity_percent_iacs", "Conductivity", Kind.NUMBER, "%IACS", 10),
        Column("source", "Source", width=24),
    )
    with lab.look(when) as look:
        rows = [
            (m.code, m.name, m.family, m.magnetic_class, text(m.conductivity_percent_iacs), m.source)
            for m in materials_in(look)
        ]
        return headed(look, "refstd.materials/1", "Materials", columns, rows)


def procedures_sheet(lab: Lab, when: When) -> Sheet:
    """Return the procedures in force, one row a limit, target or named item, each with its paragraph."""
    columns = (
        Column("code", "Procedure", width=9),
        Column("issue", "Issue", width=5),
        Column("title", "Title", width=16),
        Column("approved_by", "Approved by", width=8),
        Column("states", "States", width=12),
        Column("what", "For", width=18),
        Column("limit", "Limit", width=24),
        Column("paragraph", "Paragraph", width=8),
    )
    with lab.look(when) as look:
        rows = [(p.code, p.issue, p.title, p.approval, *cells) for p in procedures_in(look) for cells in _stated(p)]
        waiting = tuple(
            f"{p.name} is {p.standing} and not in force."
            for p in all_revisions_in(look)
            if p.standing in ("drafted", "reviewed")
        )
        return headed(look, "refstd.procedures/1", "Procedures", columns, rows, notes=waiting)


def _stated(p: ProcedureShown) -> list[tuple[str, str, str, str]]:
    """Return everything that a procedure states: (what kind, for what, the limit, the paragraph)."""
    reach = f"{text(p.lowest_khz)} to {text(p.highest_khz)} kHz"
    found = [("form", p.form, "", ""), ("frequency", "", reach, p.frequency_paragraph), ("tell", p.tell, "", "")]
    if p.check_every_hours is not None:
        found.append(("check every", "", f"{text(p.check_every_hours)} h", p.check_paragraph))
    if p.needs_baseline:
        found.append(("baseline", "", f"{p.baseline_setups} independent set-ups", p.baseline_paragraph))
    if p.conductivity_band_percent_iacs is not None:
        band = f"±{text(p.conductivity_band_percent_iacs)} %IACS"
        found.append(("conductivity", "block against part", band, p.conductivity_paragraph))
    if p.temperature_band_c is not None:
        found.append(
            ("temperature", "part against block", f"±{text(p.temperature_band_c)} °C", p.temperature_paragraph)
        )
    found += [("target", f"notch {t.notch}", f"{text(t.value)} {t.unit}", t.paragraph) for t in p.targets]
    for x in p.limits:
        found.append(
            ("limit", f"{x.quantity}, {f'notch {x.notch}' if x.notch else 'every notch'}", x.in_words(), x.paragraph)
        )
    found += [(name, "", x.in_words(), x.paragraph) for name, x in p.asks.each()]
    found += [("equipment", f"{n.kind} {n.part_no}", n.standing, n.paragraph) for n in p.named]
    found += [("family", f"{a.block_family} block", f"for {a.part_family}", a.paragraph) for a in p.accepted]
    return found


def jobs_sheet(lab: Lab, when: When) -> Sheet:
    """Return the jobs."""
    columns = (
        Column("number", "Job", width=10),
        Column("state", "State", width=7),
        Column("procedure", "Procedure", width=16),
        Column("parts", "Parts", width=20),
        Column("material", "Material", width=10),
        Column("form", "Form", width=8),
        Column("bore_diameter_mm", "Bore", Kind.NUMBER, "mm", 7),
        Column("frequency_khz", "Frequency", Kind.NUMBER, "kHz", 8),
        Column("starts_on", "From", Kind.DATE, width=9),
        Column("ends_on", "To", Kind.DATE, width=9),
        Column("place", "Place", width=12),
        Column("customer_reference", "Customer's reference", width=12),
    )
    with lab.look(when) as look:
        rows = [
            (
                j.number, "open" if j.open else "closed", j.procedure.name, j.parts, j.material.code, j.form, text(j.bore_diameter_mm),
                text(j.frequency_khz), text(j.starts_on), text(j.ends_on), j.place, j.customer_reference,
            )
            for j in jobs_in(look)
        ]  # fmt: skip
        return headed(look, "refstd.jobs/1", "Jobs", columns, rows)


def setups_sheet(lab: Lab, when: When) -> Sheet:
    """Return the setups with their conditions."""
    columns = (
        Column("number", "Setup", width=9),
        Column("instrument", "Instrument", width=10),
        Column("probe", "Probe", width=10),
        Column("block", "Block", width=10),
        Column("frequency_khz", "Frequency", Kind.NUMBER, "kHz", 8),
        Column("measure", "Measure", width=16),
        Column("unit", "Unit", width=7),
        Column("phase_reference", "Phase reference", width=10),
        Column("conditions", "All conditions", width=40),
    )
    with lab.look(when) as look:
        rows = [
            (
                s.number, s.instrument, s.probe, s.block, text(s.frequency_khz), s.measure, s.unit, s.phase_reference,
                conditions_in_words(s),
            )
            for s in setups_in(look)
        ]  # fmt: skip
        return headed(look, "refstd.setups/1", "Setups", columns, rows)


def checks_sheet(lab: Lab, when: When, setup: str = "", job: str = "") -> Sheet:
    """Return the checks in force, newest first, of a setup or a job or all."""
    columns = (
        Column("number", "Check", width=9),
        Column("happened_at", "When", Kind.INSTANT, width=14),
        Column("occasion", "Occasion", width=9),
        Column("setup", "Setup", width=9),
        Column("job", "Job", width=10),
        Column("person", "By", width=7),
        Column("outcome", "Outcome", width=12),
        Column("verdict", "Verdict", width=30),
        Column("covers", "Covers", width=24),
        Column("finding", "Finding", width=8),
        Column("late", "Late", width=14),
        Column("rules_version", "Rules", width=5),
    )
    with lab.look(when) as look:
        rows = [
            (
                c.number, instant(c.happened_at), c.occasion, c.setup, c.job, c.person, c.outcome, c.headline(), c.covers, c.finding,
                c.late, c.rules_version,
            )
            for c in checks_in(look, setup=setup, job=job)
        ]  # fmt: skip
        scope = [(name, value) for name, value in (("setup", setup), ("job", job)) if value]
        notes = (
            "Verdicts stand as kept, by the rules of their day. Corrected checks are left out; their corrections count.",
        )
        return headed(look, "refstd.checks/1", "Response checks", columns, rows, scope=scope, notes=notes)


def lots_sheet(lab: Lab, when: When, job: str = "") -> Sheet:
    """Return the examined lots, of a job or all."""
    columns = (
        Column("number", "Lot", width=9),
        Column("job", "Job", width=10),
        Column("start_check", "Start check", width=10),
        Column("examined", "Examined", width=42),
        Column("person", "By", width=8),
        Column("happened_at", "When", Kind.INSTANT, width=14),
        Column("late", "Late", width=14),
    )
    with lab.look(when) as look:
        rows = [
            (x.number, x.job, x.start_check, x.examined, x.person, instant(x.happened_at), x.late)
            for _, x in lots_of(look)
            if not job or key(x.job) == key(job)
        ]
        scope = [("job", job)] if job else []
        return headed(look, "refstd.lots/1", "Examined lots", columns, rows, scope=scope)


def issued_sheet(lab: Lab, when: When) -> Sheet:
    """Return the reports that were issued, with the hash that proves a copy."""
    columns = (
        Column("name", "Report", width=24),
        Column("sha256", "SHA-256", width=44),
        Column("bytes", "Bytes", Kind.NUMBER, width=8),
        Column("issued_at", "Issued", Kind.INSTANT, width=14),
        Column("person", "By", width=8),
        Column("entry", "Log entry", Kind.NUMBER, width=7),
    )
    with lab.look(when) as look:
        rows = [(x.name, x.sha256, str(x.size), instant(x.issued_at), x.person, str(x.entry)) for x in issued_in(look)]
        return headed(look, "refstd.issued/1", "Issued reports", columns, rows)


def deferrals_sheet(lab: Lab, when: When) -> Sheet:
    """Return every deferral of a due date, newest first, with those that count no longer."""
    columns = (
        Column("asset_no", "Asset", width=9),
        Column("activity", "Activity", width=10),
        Column("due_on", "Was due on", Kind.DATE, width=9),
        Column("until", "Deferred to", Kind.DATE, width=9),
        Column("person", "By", width=7),
        Column("why", "Reason", width=30),
        Column("happened_at", "When", Kind.INSTANT, width=13),
        Column("entry", "Log entry", Kind.NUMBER, width=6),
        Column("stands", "Stands", width=12),
    )
    with lab.look(when) as look:
        rows = [
            (d.asset_no, d.activity, text(d.due_on), text(d.until), d.person, d.why, instant(d.happened_at), str(d.entry), d.stands)
            for d in reversed(deferrals_in(look))
        ]  # fmt: skip
        notes = (
            "A deferral counts to its end, to the last day included; new evidence of that activity ends it before.",
        )
        return headed(look, "refstd.deferrals/1", "Deferred due dates", columns, rows, notes=notes)


def tolerances_sheet(lab: Lab, when: When) -> Sheet:
    """Return the tolerances of items in force, with the source of the limits and the decision rule."""
    columns = (
        Column("asset_no", "Asset", width=9),
        Column("notch", "Notch", width=9),
        Column("quantity", "Quantity", width=11),
        Column("lower_limit", "Lower limit", Kind.NUMBER, width=8),
        Column("upper_limit", "Upper limit", Kind.NUMBER, width=8),
        Column("unit", "Unit", width=6),
        Column("source", "Source", width=20),
        Column("decision_rule", "Decision rule", width=11),
        Column("guard_ratio", "r", Kind.NUMBER, width=4),
        Column("person", "Set by", width=7),
        Column("happened_at", "When", Kind.INSTANT, width=13),
        Column("entry", "Log entry", Kind.NUMBER, width=6),
        Column("why", "Reason", width=16),
    )
    with lab.look(when) as look:
        rows = [
            (
                t.asset_no, t.notch, t.quantity, text(t.lower_limit), text(t.upper_limit), t.unit, t.source, t.decision_rule or "none",
                text(t.guard_ratio), t.person, instant(t.happened_at), str(t.entry), t.why,
            )
            for t in sorted(tolerances_in(look), key=lambda t: (t.asset_no, t.notch, t.quantity))
        ]  # fmt: skip
        notes = (
            "For values of papers filed from the moment on when it was set; those on record stay as judged on their day "
            "(ISO/IEC 17025:2017, 7.8.6).",
            "Without a decision rule a value is compared and not judged.",
        )
        return headed(look, "refstd.tolerances/1", "Tolerances", columns, rows, notes=notes)
