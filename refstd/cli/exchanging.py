"""CSV files in and out."""

from pathlib import Path
from typing import Any, cast

import click

from refstd.base.errors import WrongUsage
from refstd.base.text import key, safe
from refstd.cli.call import Call, warn
from refstd.cli.files import content_of_file, write_file
from refstd.cli.group import Answering, Question, pass_call


@click.command(
    cls=Answering,
    example=[
        "refstd import register/ --check --as ORLA",
        "refstd import blocks.csv notches.csv --as ORLA",
        "refstd import new.csv --kind probes --as ORLA",
        "refstd import --columns blocks",
        "refstd import HM-26-1021.xml --as ORLA",
        'refstd import HM-26-1021.xml --map "N1=0.2 mm" --map "N2=0.5 mm" --yes --as ORLA',
        "refstd import --whole lab-2026-03-10 --db again.refstd",
    ],
)
@click.argument("files", nargs=-1, metavar="FILE-or-DIR...")
@click.option("--kind", default="", metavar="KIND", help="What the file holds, where its name does not say so.")
@click.option("--check", "only_check", is_flag=True, help="Only say what is wrong; write nothing.")
@click.option("--columns", default="", metavar="KIND", help="Show the columns of a kind of file, and do nothing else.")
@click.option("--item", default="", metavar="ASSET", help="XML: which item it is, where the certificate does not say.")
@click.option(
    "--map", "places", multiple=True, metavar="THEIR=NOTCH", help="XML: what the laboratory's name for a place means."
)
@click.option(
    "--quantity", "quantities", multiple=True, metavar="COLUMN=QUANTITY", help="XML: which quantity a column holds."
)
@click.option(
    "--take",
    multiple=True,
    metavar="COLUMN",
    help="XML: which column holds the measured values, where the file does not say.",
)
@click.option(
    "--trust",
    multiple=True,
    metavar="FILE",
    help="XML: a certificate (PEM) that a signer's may lead to; several are several --trust.",
)
@click.option("--yes", is_flag=True, help="XML: file it; without, it is only shown.")
@click.option("--whole", metavar="DIR", help="Make the store that --db names anew from what `export --whole` wrote.")
@pass_call
def import_(
    call: Call, files: tuple[str, ...], kind: str, only_check: bool, columns: str, item: str, places: tuple[str, ...],
    quantities: tuple[str, ...], take: tuple[str, ...], trust: tuple[str, ...], yes: bool, whole: str | None,
) -> None:  # fmt: skip
    """Read CSV files into the register: every problem of every file is listed, and all is written, or nothing.

    A file is named for its kind: materials, people, authorities, qualifications, vision_tests, blocks, notches, probes,
    instruments, order_tests, accessories, schedules, tolerances, certificates, values, procedures, limits, targets, named,
    families, scan, occasions, notch_advice, part_reading, vision_asked, qualification_asked, tolerances_asked, jobs,
    job_details, setups. A folder is read as all the files in it that bear such
    a name. notches.csv completes blocks.csv (by asset_no), values.csv completes
    certificates.csv (by asset_no and certificate), limits and the files after it up to tolerances_asked complete
    procedures.csv (by procedure), job_details.csv completes jobs.csv (by job): give them together. `refstd export` writes files with the right columns.

    An .xml file is read as a Digital Calibration Certificate (3.2 or 3.3), one at a time: what was understood and what
    was left is shown, and with --yes it is filed, its XML kept byte for byte. A value's notch is known by a label that is
    the same in both, or by --map, which is remembered for the laboratory and item: THEIR=NOTCH, or 'whole item' or
    'left out' instead of a notch.

    --whole makes a store where none stands: every record, paper and log entry as it was, with the same log head.
    """
    if whole is not None:
        if files or kind or only_check or columns or yes:
            raise WrongUsage("a whole store is read alone", "--whole", "Leave the other files and options out.")
        _import_whole(call, Path(whole))
        return
    if columns:
        _show_columns(call, columns)
        return
    if not files:
        raise WrongUsage("no file is named", "", "Name files or a folder, or see `refstd import --columns KIND`.")
    if any(f.lower().endswith(".xml") for f in files):
        from refstd.cli.certificate_file import Said, import_certificate

        import_certificate(call, files, Said(item, places, quantities, take, trust), file=yes and not only_check)
        return
    if item or places or quantities or take or trust or yes:
        raise WrongUsage(
            "--item, --map, --quantity, --take, --trust and --yes belong to a certificate in XML",
            "",
            "Name an .xml file.",
        )
    read_in(call, list(files), kind, only_check, whole_register=True)


def _import_whole(call: Call, folder: Path) -> None:
    from refstd.desk.store import import_whole

    head = import_whole(folder, call.path())
    if call.json:
        call.show_json({"schema": "refstd.whole/1", "head": {"sequence": head.sequence, "hash": head.hash}})
        return
    call.line(f"made {call.path()}, verified deeply")
    call.line(f"head {head.sequence} {head.hash}")


def _show_columns(call: Call, name: str) -> None:
    from refstd.desk.entry import fields_of
    from refstd.exchange.kinds import KINDS
    from refstd.exchange.spreadsheet import kind_named

    kind = KINDS[kind_named(name)]
    call.line(f"{kind.file}: UTF-8, commas, this heading (columns that may stay empty may be left out):")
    call.line(",".join(kind.columns))
    for column in kind.by:
        call.line(f"  {column}: needed; names the record of {KINDS[kind.belongs_to].file} that the row belongs to")
    for field in fields_of(kind.draft):
        words = ["needed" if field.needed else f"empty means {field.default}" if field.default else "may be empty"]
        words += [f"one of {', '.join(c for c in field.choices if c)}"] if field.choices else []
        words += [field.help] if field.help else []
        call.line(f"  {field.key}: {'; '.join(words)}")


def read_in(call: Call, files: list[str], kind: str, only_check: bool, *, whole_register: bool = False) -> None:
    """Read files or one folder in, and say what was done."""
    from refstd.exchange.spreadsheet import Source, import_files, kind_named, sources_in

    sources: list[Source] = []
    for place, name in enumerate(files):
        path = Path(name)
        if name != "-" and path.is_dir():
            if kind or len(files) > 1:
                raise WrongUsage(
                    "a folder is read alone, by the names of its files", safe(path), "Name the folder, or files."
                )
            sources += sources_in(path)
            continue
        shown, content = content_of_file(name)
        sources.append(Source(kind_named(kind if kind and place == 0 else shown), shown, content))
    with call.store() as lab:
        done = import_files(
            lab, sources, by=call.who(), now=call.now(lab), only_check=only_check, whole_register=whole_register
        )
    for warning in done.warnings:
        warn(f"warning: {warning}")
    if call.json:
        call.show_json(
            {"schema": "refstd.import/1", "written": not only_check, "counts": dict(done.counts),
             "unchanged": done.unchanged, "warnings": list(done.warnings)}
        )  # fmt: skip
        return
    counts = ", ".join(f"{number} {name}" for name, number in done.counts)
    call.line(f"{'nothing was written; it would enter' if only_check else 'entered'}: {counts}")
    if done.unchanged:
        call.line(f"{done.unchanged} on record already, the same; passed over")


def one_of_files(main: tuple[str, str], more: tuple[str, str | None]) -> Any:
    """Return the record that one or two files hold: (kind, file) and, where a file is named, (kind, file) of its parts."""
    from refstd.exchange.spreadsheet import Source, one_record

    named = [main, *([cast(tuple[str, str], more)] if more[1] else [])]
    sources = [Source(kind, *content_of_file(name)) for kind, name in named]
    if len({key(s.name) for s in sources}) < len(sources):
        raise WrongUsage("the same file is named twice", safe(main[1]), "Name two files.")
    return one_record(sources)


def file_with_paper(
    call: Call, file: str, values: str | None, paper: str, *, supersedes: str = "", why: str = ""
) -> None:
    """File one certificate from a row of certificates.csv and its rows of values.csv, with its paper if one is named."""
    from refstd.desk.certificates import Paper, file_certificate
    from refstd.desk.filed import filed

    record = one_of_files(("certificates", file), ("values", values))
    attached = Paper(*content_of_file(paper)) if paper else None
    with call.store() as lab:
        file_certificate(
            lab,
            record.draft,
            record.parts["values"],
            attached,
            supersedes=supersedes,
            why=why,
            by=call.who(),
            now=call.now(lab),
        )
        answer = filed(lab, record.draft.asset_no, record.draft.number, call.when(lab))
    if call.json:
        call.show_json(answer.as_dict())
        return
    place = f" in the place of {supersedes}" if supersedes else ""
    call.line(f"certificate {record.draft.number} of {record.draft.asset_no} filed{place}")
    for line in answer.in_words():
        call.line(line)


@click.command(
    "export", cls=Question, example=["refstd export register-2026-03-10", "refstd export --whole lab-2026-03-10"]
)
@click.argument("folder", metavar="DIR")
@click.option(
    "--whole", is_flag=True, help="Instead, the whole store in an open form: the log with every row, and the papers."
)
@pass_call
def export(call: Call, folder: str, whole: bool) -> None:
    """Write the register and its records as CSV files that a spreadsheet opens safely.

    DIR is made if need be; files in it are never overwritten. What `refstd import` reads stands beside what can only be
    read (checks, readings, receipts, comparisons, loans, lots, findings, interval reviews, the log). Papers and earlier revisions are in a backup, and in what --whole writes.

    --whole writes log.jsonl (every entry with every row it wrote), papers/ and checkpoint.txt: nothing is lost, and
    `refstd import --whole DIR --db NEW` makes the same store of it, with the same log head.
    """
    if whole:
        _export_whole(call, Path(folder))
        return
    from refstd.exchange.export import export_register

    target = Path(folder)
    with call.store() as lab:
        written = export_register(lab, call.when(lab))
    taken = [name for name in written if (target / name).exists()]
    if taken:
        raise WrongUsage(
            f"{len(taken)} of the files are there already, such as {taken[0]}", safe(target), "Name a new folder."
        )
    try:
        target.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WrongUsage(
            f"the folder cannot be made: {safe(error.strerror)}", safe(target), "Name another folder."
        ) from error
    for name, content in written.items():
        write_file(target / name, content)
    if call.json:
        call.show_json({"schema": "refstd.export/1", "folder": str(target), "files": sorted(written)})
        return
    call.line(f"wrote {len(written)} files to {target}")


def _export_whole(call: Call, folder: Path) -> None:
    if call.as_at or call.today:
        raise WrongUsage("the whole store is written as it is now", "--whole", "Leave --as-at and --today out.")
    from refstd.desk.store import export_whole

    with call.store() as lab:
        head, papers = export_whole(lab, folder)
    if call.json:
        members = {"sequence": head.sequence, "hash": head.hash}
        call.show_json({"schema": "refstd.whole/1", "folder": str(folder), "head": members, "papers": papers})
        return
    call.line(f"wrote {head.sequence} log entries and {papers} papers to {folder}")
    call.line(f"head {head.sequence} {head.hash}")
