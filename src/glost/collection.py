"""From paths to recipes: which files are meant, and which collection each belongs to."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from glost import cache
from glost.files import read_text
from glost.language.parse import parse
from glost.language.source import FIRST, Fault, Source, Unreadable
from glost.lint.finding import ERROR, UNREADABLE, Finding
from glost.lint.rule import rule_names
from glost.materials.catalogue import Catalogue, shipped_catalogue
from glost.recipe.resolve import Resolved, resolve
from glost.settings import Settings, read_settings
from glost.yamlfile import Misread, Node, as_plain, from_plain
from glost.yamlfile import read as read_yaml

ENDING = ".glost"
SETTINGS = "glost.yaml"
STANDARD_INPUT = "-"
EVERY_MATERIAL = "all"
"""What stands for every material in a handling note."""


class Collection(NamedTuple):
    """The settings and materials that hold for the recipes below a folder."""

    root: Path | None
    settings: Settings
    catalogue: Catalogue


class Collections:
    """The collections met in one run, each read once. Raises Misread for a settings or materials file that
    cannot be taken as it stands."""

    def __init__(self) -> None:
        self._by_folder: dict[Path, Collection] = {}

    def of(self, path: Path) -> Collection:
        """The collection that a file belongs to: the nearest folder above it that holds a glost.yaml."""
        folder = path.absolute().parent
        met = []
        while folder not in self._by_folder:
            met.append(folder)
            if os.path.lexists(folder / SETTINGS):  # a link that leads nowhere is reported, not passed over
                self._by_folder[folder] = _read(folder)
                break
            if folder.parent == folder:
                self._by_folder[folder] = Collection(None, Settings(), shipped_catalogue())
                break
            folder = folder.parent
        for below in met:
            self._by_folder[below] = self._by_folder[folder]
        return self._by_folder[folder]


def _read(folder: Path) -> Collection:
    source = _source(folder / SETTINGS)
    settings = read_settings(source, rule_names(), _nodes(source))
    catalogue = shipped_catalogue()
    if settings.materials is not None:
        from glost.materials.own import with_own_materials

        own = _own_materials(source, settings, folder)
        catalogue = with_own_materials(catalogue, own, _nodes(own))
    _check_handling(source, settings, catalogue)
    return Collection(folder, settings, catalogue)


def _nodes(source: Source) -> Node:
    """What a YAML file says, from the cache where its text is known, so that a usual start reads no YAML."""
    kept = cache.find("yaml", source.text)
    if kept is not None:
        with suppress(ValueError, TypeError, KeyError, IndexError):
            return from_plain(kept)
    root = read_yaml(source)
    cache.keep("yaml", source.text, as_plain(root))
    return root


def _own_materials(settings_file: Source, settings: Settings, folder: Path) -> Source:
    """The text of the materials file that the settings name. Raises Misread."""
    named = settings.materials or ""
    # os.path answers where pathlib would raise: on a loop of links, on a name that no disk can hold.
    target = Path(os.path.realpath(folder / named))
    if not target.is_relative_to(os.path.realpath(folder)):
        raise Misread(
            settings_file,
            settings.materials_at,
            f"'{named}' lies outside the collection",
            "keep the materials file in the collection's folder",
        )
    if not os.path.isfile(target):  # noqa: PTH113
        raise Misread(
            settings_file,
            settings.materials_at,
            f"there is no file '{named}' here",
            "correct the name, or take the line away",
        )
    return _source(folder / named)


def _check_handling(source: Source, settings: Settings, catalogue: Catalogue) -> None:
    """Raises Misread for a house note that would never be printed, or that stands beside another for the same
    material: a slip in its name must not silence it."""
    met: dict[str, str] = {}
    for name in settings.handling:
        material = catalogue.find(name)
        if material is None and name != EVERY_MATERIAL:
            near = catalogue.nearest(name, 1)
            meant = f"did you mean '{near[0]}'? " if near else ""
            raise Misread(
                source,
                settings.handling_at[name],
                f"a house note for '{name}', which is no material that is known here",
                f"{meant}Correct the name, or add the material to the collection's materials.yaml",
            )
        canonical = material.name if material else name
        if canonical in met:
            raise Misread(
                source,
                settings.handling_at[name],
                f"'{met[canonical]}' and '{name}' are one material, with two house notes",
                "put both into one",
            )
        met[canonical] = name


def _source(path: Path) -> Source:
    shown = display(path)
    try:
        return Source(shown, read_text(path))
    except Unreadable as error:
        mend = error.mend
        if "recipe" in mend:
            mend = "such a file is short, and plain text in UTF-8; check that this is the one you mean"
        raise Misread(Source(shown, ""), error.position, error.message, mend) from None


def display(path: Path) -> str:
    """A path as it is shown: below the working folder where it lies there, with / between folders."""
    try:
        return path.absolute().relative_to(Path.cwd()).as_posix()
    except ValueError:
        return path.as_posix()


class NoSuchPath(Exception):
    """A path given on the command line is not there, or cannot be looked at; ``why`` is what the system says of
    it, where that is more than that it is not there."""

    def __init__(self, path: str, why: str = "") -> None:
        super().__init__(path)
        self.why = why


def find(paths: Sequence[str], collections: Collections, ending: str = ENDING) -> list[Path]:
    """The recipe files meant by ``paths``, or those of another ending, sorted, each once. A folder means every such
    file below it but for hidden folders and those that its collection skips; a file is taken whatever it is called.
    A link to a folder is not followed, so that no link leads out. Raises NoSuchPath, and Misread for a folder that
    cannot be looked into."""
    found: dict[Path, Path] = {}
    for text in paths:
        path = Path(text)
        try:
            folder, there = path.is_dir(), os.path.lexists(path)
        except OSError as error:
            raise NoSuchPath(text, error.strerror or "") from None
        if not there:
            raise NoSuchPath(text)
        for file in _below(path, collections, ending) if folder else [path]:
            found.setdefault(file.absolute(), file)
    return sorted(found.values())


def _below(folder: Path, collections: Collections, ending: str) -> Iterator[Path]:
    for here, folders, files in os.walk(folder, onerror=_no_look):
        at = Path(here)
        folders[:] = sorted(
            name for name in folders if not name.startswith(".") and not _skipped(at / name, collections)
        )
        for name in sorted(files):
            if name.endswith(ending) and not name.startswith("."):
                yield at / name


def _no_look(error: OSError) -> None:
    """A folder that is passed over in silence would be one that nobody checks."""
    raise Misread(
        Source(display(Path(error.filename)), ""),
        FIRST,
        f"this folder cannot be looked into: {error.strerror}",
        "check its permissions, or name other folders",
    )


def _skipped(inner: Path, collections: Collections) -> bool:
    """Whether the collection leaves this folder out of a walk that began above it."""
    collection = collections.of(inner)
    if collection.root is None or not collection.settings.skip:
        return False
    absolute = inner.absolute()
    return any(absolute == collection.root / word for word in collection.settings.skip)


class Entry(NamedTuple):
    """A recipe of a collection: its file as shown, what it means, and the collection's word."""

    path: Path
    file: str
    resolved: Resolved
    collection: Collection


def load(path: Path, collections: Collections) -> Entry:
    """The recipe in a file. Raises Unreadable, Misread."""
    return load_text(display(path), read_text(path), path, collections)


def load_text(shown: str, text: str, path: Path, collections: Collections) -> Entry:
    """The recipe in a text that is shown under one name and belongs to the collection of ``path``."""
    collection = collections.of(path)
    resolved = resolve(parse(Source(shown, text)), collection.catalogue)
    return Entry(path, shown, resolved, collection)


def unreadable(path: str, error: Unreadable) -> Finding:
    """The finding of a file that could not be read."""
    return Finding(path, *error.position, *error.position, UNREADABLE, ERROR, error.message, error.mend)


def misread(error: Misread) -> Finding:
    """The finding of a settings or materials file that cannot be taken as it stands."""
    line = error.source.line(error.position.line)
    return Finding(
        error.source.path,
        *error.position,
        error.position.line,
        error.position.column + 1,
        UNREADABLE,
        ERROR,
        error.message,
        error.mend,
        line,
    )


def faults_of(resolved: Resolved) -> tuple[Fault, ...]:
    """All that cannot be read or taken on a page, in order."""
    return tuple(sorted((*resolved.page.faults, *resolved.faults), key=lambda fault: fault.span))


def batch_from(text: str | None) -> Decimal | None:
    """The mass of --batch in grams. Raises ValueError."""
    if text is None:
        return None
    from glost.weighing.units import read_mass

    return read_mass(text)
