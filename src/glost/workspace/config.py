"""A collection's own files: its glost.yaml and the materials file that this names."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from glost.errors import FIRST
from glost.language.source import DecodeError, Source
from glost.language.yaml_tree import ConfigError, Node, as_plain, from_plain
from glost.language.yaml_tree import read as read_yaml
from glost.linter.rule import rule_names
from glost.recipe.materials.catalogue import Catalogue, shipped_catalogue
from glost.recipe.settings import Settings, read_settings
from glost.workspace import cache
from glost.workspace.files import read_text
from glost.workspace.paths import SETTINGS, display, leads_out, lies_within

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


def read_own(folder: Path) -> Own:
    """What the glost.yaml in a folder says, and the materials file that it names. Raises ConfigError."""
    if leads_out(folder, SETTINGS):
        raise ConfigError(
            Source(display(folder / SETTINGS), ""),
            FIRST,
            "this is a link that leads out of the collection, so it is not read",
            "put the file itself here",
        )
    source = config_source(folder / SETTINGS)
    texts = [source.text]
    settings = read_settings(source, rule_names(), _nodes(source))
    catalogue = shipped_catalogue()
    if settings.materials is not None:
        from glost.recipe.materials.own import with_own_materials

        own = _own_materials(source, settings, folder)
        texts.append(own.text)
        catalogue = with_own_materials(catalogue, own, _nodes(own))
    _check_handling(source, settings, catalogue)
    outline = {"materials": settings.materials, "skip": settings.skip, "own": cache.digest(*texts[1:])}
    cache.keep("outline", source.text, outline)
    return Own(settings, catalogue, cache.digest(*texts))


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
    """The text of the materials file that the settings name. Raises ConfigError."""
    named = settings.materials or ""
    if not lies_within(folder, named):
        raise ConfigError(
            settings_file,
            settings.materials_at,
            f"'{named}' lies outside the collection",
            "keep the materials file in the collection's folder",
        )
    if not os.path.isfile(folder / named):  # noqa: PTH113
        raise ConfigError(
            settings_file,
            settings.materials_at,
            f"there is no file '{named}' here",
            "correct the name, or take the line away",
        )
    return config_source(folder / named)


def _check_handling(source: Source, settings: Settings, catalogue: Catalogue) -> None:
    """Raises ConfigError for a house note that would never be printed, or that stands beside another for the same
    material: a slip in its name must not silence it."""
    met: dict[str, str] = {}
    for name in settings.handling:
        material = catalogue.find(name)
        if material is None and name != EVERY_MATERIAL:
            from glost.recipe.materials.meant import meant, question

            asked = question(meant(name, catalogue), quoted=True)
            correct = f"{asked} Correct" if asked else "correct"
            raise ConfigError(
                source,
                settings.handling_at[name],
                f"a house note for '{name}', which is no material that is known here",
                f"{correct} the name, or add the material to the collection's materials.yaml",
            )
        canonical = material.name if material else name
        if canonical in met:
            raise ConfigError(
                source,
                settings.handling_at[name],
                f"'{met[canonical]}' and '{name}' are one material, with two house notes",
                "put both into one",
            )
        met[canonical] = name


def config_source(path: Path) -> Source:
    """The text of a file of the collection that is no recipe. Raises ConfigError."""
    shown = display(path)
    try:
        return Source(shown, read_text(path, check=_CHECK))
    except DecodeError as error:
        raise ConfigError(Source(shown, ""), error.position, error.message, error.hint) from None


_CHECK = "such a file is short, and plain text in UTF-8; check that this is the one you mean"
