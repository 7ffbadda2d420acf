"""A collection's own files: its glost.yaml and the materials file that this names."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from glost.errors import FIRST, Position
from glost.language.source import DecodeError, Source
from glost.language.yaml_tree import ConfigError, Node, as_plain, from_plain, read_as_far, together
from glost.linter.rule import rule_names
from glost.recipe.materials.catalogue import Catalogue, shipped_catalogue
from glost.recipe.settings import KEYS, Settings, settings_as_far
from glost.workspace import cache
from glost.workspace.paths import SETTINGS
from glost.workspace.reading import DISK, Files, text_in

EVERY_MATERIAL = "all"
"""What stands for every material in a handling note."""


class Own(NamedTuple):
    """What a collection's own files say, on top of what glost knows, and a digest of their texts."""

    settings: Settings
    catalogue: Catalogue
    says: str


def without_own() -> Own:
    """What holds where there is no glost.yaml."""
    return Own(Settings(), shipped_catalogue(), "")


def read_own(folder: Path, files: Files = DISK) -> Own:
    """What the glost.yaml in a folder says, and the materials file that it names. Raises ConfigError with all that is
    wrong in both, so that it can be put right in one go."""
    if files.leads_out(folder, SETTINGS):
        raise ConfigError(
            Source(files.shown(folder / SETTINGS), ""),
            FIRST,
            "this is a link that leads out of the collection, so it is not read",
            "put the file itself here",
        )
    source = config_source(folder / SETTINGS, files)
    texts = [source.text]
    root, refused = _nodes(source)
    if root is None:
        raise together(refused)
    settings, wrong = settings_as_far(source, rule_names(), root)
    refused += wrong
    catalogue = shipped_catalogue()
    # Where the line that names the materials may be one that was refused, nobody can say which names are unknown.
    keys = root.value if isinstance(root.value, dict) else {}
    is_unsure: Callable[[str], bool] = (
        _always if any(key == "materials" or key not in KEYS for key in keys) else _never
    )
    if settings.materials is not None:
        try:
            own = _own_materials(source, settings, folder, files)
        except ConfigError as error:
            refused.append(error)
            is_unsure = _always
        else:
            texts.append(own.text)
            catalogue, wrong, is_unsure = _take_own(catalogue, own)
            refused += wrong
    refused += _faults_of_handling(source, settings, catalogue, is_unsure)
    if refused:
        raise together(refused)
    outline = {"materials": settings.materials, "skip": settings.skip, "own": cache.digest(*texts[1:])}
    cache.keep("outline", source.text, outline)
    return Own(settings, catalogue, cache.digest(*texts))


def materials_named(text: str) -> str | None:
    """The materials file that a glost.yaml of that text names, None where it names none that can be read."""
    root, _ = _nodes(Source(SETTINGS, text))
    entry = root.value.get("materials") if root is not None and isinstance(root.value, dict) else None
    return entry.node.value or None if entry is not None and isinstance(entry.node.value, str) else None


def _always(_name: str) -> bool:
    return True


def _never(_name: str) -> bool:
    return False


def _take_own(
    catalogue: Catalogue, own: Source
) -> tuple[Catalogue, list[ConfigError], Callable[[str], bool]]:
    """The catalogue with the collection's own materials, as far as they can be taken; what is refused of them; and
    whether a name may be one of those that are refused."""
    from glost.recipe.materials.own import own_as_far

    root, refused = _nodes(own)
    if root is None:
        return catalogue, refused, _always
    catalogue, wrong, is_named = own_as_far(catalogue, own, root)
    return catalogue, [*refused, *wrong], is_named


def _nodes(source: Source) -> tuple[Node | None, list[ConfigError]]:
    """What a YAML file says, as far as it can be read, and what is refused in it; from the cache where its text is
    known, so that a usual start reads no YAML."""
    kept = cache.find("yaml", source.text)
    if kept is not None:
        with suppress(ValueError, TypeError, KeyError, IndexError):
            return from_plain(kept), []
    root, refused = read_as_far(source)
    if root is not None and not refused:
        cache.keep("yaml", source.text, as_plain(root))
    return root, refused


def _own_materials(settings_file: Source, settings: Settings, folder: Path, files: Files) -> Source:
    """The text of the materials file that the settings name. Raises ConfigError."""
    named = settings.materials or ""
    if not files.lies_within(folder, named):
        raise ConfigError(
            settings_file,
            settings.materials_at,
            f"'{named}' lies outside the collection",
            "keep the materials file in the collection's folder",
        )
    if not files.is_file(folder / named):
        raise ConfigError(
            settings_file,
            settings.materials_at,
            f"there is no file '{named}' here",
            "correct the name, or take the line away",
        )
    return config_source(folder / named, files)


def _faults_of_handling(
    source: Source, settings: Settings, catalogue: Catalogue, is_unsure: Callable[[str], bool]
) -> Iterator[ConfigError]:
    """What is wrong with a house note that would never be printed, or that stands beside another for the same material:
    a slip in its name must not silence it. ``is_unsure``: a name that is not known may be that of a material of the
    collection which was told of."""
    met: dict[str, str] = {}
    for name, place in settings.handling_at.items():
        material = catalogue.find(name)
        if material is None and name != EVERY_MATERIAL:
            if not is_unsure(name):
                yield _unknown(source, name, place, catalogue)
            continue
        canonical = material.name if material else name
        if canonical in met:
            yield ConfigError(
                source,
                place,
                f"'{met[canonical]}' and '{name}' are one material, with two house notes",
                "put both into one",
            )
        met.setdefault(canonical, name)


def _unknown(source: Source, name: str, place: Position, catalogue: Catalogue) -> ConfigError:
    from glost.recipe.materials.meant import meant, question

    asked = question(meant(name, catalogue), quoted=True)
    correct = f"{asked} Correct" if asked else "correct"
    return ConfigError(
        source,
        place,
        f"a house note for '{name}', which is no material that is known here",
        f"{correct} the name, or add the material to the collection's materials.yaml",
    )


def config_source(path: Path, files: Files = DISK) -> Source:
    """The text of a file of the collection that is no recipe. Raises ConfigError."""
    shown = files.shown(path)
    try:
        return Source(shown, text_in(files, path, check=_CHECK))
    except DecodeError as error:
        raise ConfigError(Source(shown, ""), error.position, error.message, error.hint) from None


_CHECK = "such a file is short, and plain text in UTF-8; check that this is the one you mean"
