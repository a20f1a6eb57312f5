"""The sample lab: finding its builder, building it once, and opening it."""

import importlib
import importlib.util
import sys
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from types import ModuleType
from typing import Any, cast

import click

from refstd.base.errors import StoreUnusable
from refstd.base.text import safe
from refstd.cli.call import Call, warn
from refstd.cli.group import Act, pass_call


@click.command(cls=Act, example=["refstd demo", "refstd demo sample --build-only"])
@click.argument("folder", metavar="[DIR]", required=False, default="")
@click.option("--build-only", is_flag=True, help="Build it and print its path, without opening the screens.")
@pass_call
def demo(call: Call, folder: str, build_only: bool) -> int:
    """Build the invented sample lab, print its path, and open it.

    DIR is the folder to build it in; without it, a folder in your data folder. A sample lab that is there already and
    verifies is used as it is; otherwise one is built beside it. A certificate in XML that waits to be imported lies there
    too: HM-26-1031.xml.
    """
    from refstd.cli.screens import open_screens, refuse_without_terminal

    if not build_only:
        refuse_without_terminal("Build it without opening: `refstd demo --build-only`.")
    path = sample_in(Path(folder).expanduser() if folder else _own_folder())
    lay_certificates_beside(path)
    click.echo(safe(path))
    if build_only:
        return 0
    call.db = str(path)
    return open_screens(call)


def sample_in(folder: Path) -> Path:
    """Return the path of a whole sample lab in a folder, building it if there is none."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreUnusable(
            f"the folder cannot be made: {safe(error.strerror)}", safe(folder), "Name another: `refstd demo DIR`."
        ) from error
    number = 1
    while True:
        path = folder / ("demo.refstd" if number == 1 else f"demo-{number}.refstd")
        if not path.exists():
            _build(path)
            return path.absolute()
        if _whole(path):
            return path.absolute()
        number += 1


def lay_certificates_beside(path: Path) -> None:
    """Lay the sample's certificate files, which wait to be imported, into the folder of a sample lab."""
    folders = [Path(p) / "certificates" for p in _sample_source().__path__]
    for file in (f for folder in folders for f in sorted(folder.glob("*.xml"))):
        target = path.with_name(file.name)
        if not target.exists():
            target.write_bytes(file.read_bytes())


def _build(path: Path) -> None:
    """Build the sample lab; one whose building was cut short never bears the name."""
    warn("building the sample lab; this takes a moment")
    building = path.with_name(path.name + ".building")
    building.unlink(missing_ok=True)
    builder()(building)
    building.rename(path)
    building.with_name(building.name + ".gate").unlink(missing_ok=True)


def _whole(path: Path) -> bool:
    from refstd.desk.store import verify

    try:
        return verify(path, deep=True).whole
    except StoreUnusable:
        return False


def _own_folder() -> Path:
    from platformdirs import user_data_path

    return user_data_path("refstd") / "demo"


def builder() -> Callable[[Path], Any]:
    """Return the function that builds the sample lab: of an installed package, or of the checkout it was called from."""
    return cast(Callable[[Path], Any], _sample_source().build)


def _sample_source() -> ModuleType:
    package = Path(str(resources.files("refstd")))
    if (package / "sample_db" / "__init__.py").is_file():
        return importlib.import_module("refstd.sample_db")
    start = package.parent / "sample_db" / "__init__.py"
    if not start.is_file():
        raise StoreUnusable(
            "the sample lab is not part of this installation",
            "",
            "Install refstd anew, or make a store: `refstd init`.",
        )
    if "sample_db" not in sys.modules:
        spec = importlib.util.spec_from_file_location(
            "sample_db", start, submodule_search_locations=[str(start.parent)]
        )
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules["sample_db"] = module
        spec.loader.exec_module(module)
    return sys.modules["sample_db"]
