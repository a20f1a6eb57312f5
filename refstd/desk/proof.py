"""What the log proves and what it does not: each attempt of somebody who can write the file, in plain words.

Data, for the command, the screen and the test that makes every one of these attempts on a store.
"""

from dataclasses import dataclass

STOP, LET = "stop it", "do not stop it"
CHECKPOINT_ONLY = "only a checkpoint kept outside the store: `refstd verify --checkpoint`"
NOTHING = "nothing: it is not provable"


@dataclass(frozen=True, slots=True)
class Attempt:
    """One attempt, whether the database's own guards stop it, and what shows it afterwards."""

    name: str
    attempt: str
    guards: str
    shown_by: str

    @property
    def inside(self) -> bool:
        """Return whether the file alone shows it, if it comes about."""
        return self.shown_by not in (CHECKPOINT_ONLY, NOTHING)

    def short(self) -> str:
        """Return what shows it in a word or two."""
        if self.inside:
            return self.shown_by.split("`")[1].removeprefix("refstd ")
        return "a checkpoint" if self.shown_by == CHECKPOINT_ONLY else "nothing"


_DEEP = "`refstd verify --deep`, which names the row"
_CHAIN = "`refstd verify`, by the chain of the log"
_FORM = "`refstd verify`, by the form of the store; it does not open until then"

ATTEMPTS = (
    Attempt("update", "change a value of a record with SQL", STOP, _DEEP),
    Attempt("delete", "delete a record, or all, with SQL", STOP, _DEEP),
    Attempt("update or replace", "change a record so that it takes another one's place", STOP, _DEEP),
    Attempt("insert or replace", "write a record anew under its own number", STOP, _DEEP),
    Attempt("replace on another key", "write a new record that pushes out another by its number or code", STOP, _DEEP),
    Attempt("gap", "add a log entry that does not follow on the newest", STOP, _CHAIN),
    Attempt("own row", "add a record without a log entry", LET, _DEEP),
    Attempt("drop the guards, edit", "take the guards away, change a record, put them back", LET, _DEEP),
    Attempt("edit the log", "take the guards away, change an entry of the log, put them back", LET, _CHAIN),
    Attempt("guards only", "take the guards out behind the database's back, and change nothing else", LET, _FORM),
    Attempt("shorter table", "put a shorter table in the log's place", LET, _FORM),
    Attempt("exchange a paper", "exchange the bytes of an attached paper", LET, _DEEP),
    Attempt("now table", "say in a table of what stands now that an item is in, while it is out", LET, _DEEP),
    Attempt("cut the tail", "take the guards away and cut off the newest entries with all they brought", LET, CHECKPOINT_ONLY),
    Attempt("write anew", "change a record and its entry, and compute every later hash anew", LET, CHECKPOINT_ONLY),
    Attempt("cut past the checkpoint", "cut off entries that are newer than the last checkpoint", LET, NOTHING),
    Attempt("false from the start", "record something that was never so", LET, NOTHING),
)  # fmt: skip

IN_WORDS = (
    "The guards stop accidents and other programs, not somebody who takes them away.",
    "A checkpoint shows only what happened to entries up to it: make one often, and keep it where those who can write the store cannot "
    "write. A signature shows that the checkpoint itself was not exchanged, as long as the private key is kept apart from the store.",
    "Who acted is known as the log entry says (known by). On a shared file, choosing a person is attribution, not protection.",
    "Nothing proves that what was typed was true.",
)
