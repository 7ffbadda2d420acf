"""No setting of git makes glost run a program, nor changes what it answers.

The names are those that the installed git documents (``git help -c``, git-config(1)), every one of them; the hooks
those of githooks(5). Each is set to a program that leaves a mark, and to odd values; each of the commands that ask git
then answers what it answers without. The test of the traps themselves shows that they are set: without what glost
fixes, the same settings do run, and do change answers.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from glost.workspace.git import run
from tests.hostile.hostile_git import (
    HOOKS,
    Answer,
    Git,
    Traps,
    answers,
    documented,
    executable,
    filled,
    git_refuses,
    glost,
    page,
    settings_text,
    studio,
    unprotected,
)

Setting = tuple[str, str]


class Target:
    """A repository with traps, and what is answered without them."""

    def __init__(self, folder: Path) -> None:
        self.git: Git = studio(folder / "studio")
        self.top = self.git.top
        self.traps = Traps(folder / "traps")
        self.config = self.top / ".git" / "config"
        self.plain = self.config.read_text()
        self.answers = answers(self.top)

    def with_settings(self, settings: Sequence[Setting]) -> tuple[list[Answer], set[str]]:
        """What is answered with settings of the repository, and who was called."""
        self.config.write_text(self.plain + settings_text(settings))
        try:
            return answers(self.top), self.traps.called()
        finally:
            self.config.write_text(self.plain)

    def try_settings(self, setting: Setting) -> list[Answer] | None:
        """As with_settings, None where glost itself does not get through."""
        try:
            return self.with_settings([setting])[0]
        except UnicodeDecodeError:
            return None

    def effective(self, settings: Sequence[Setting]) -> list[Setting]:
        """Those of many settings that run something or change an answer."""
        return self._halved(settings, lambda some: self.with_settings(some) != (self.answers, set()))

    def refused(self, settings: Sequence[Setting]) -> list[Setting]:
        """Those with which git works for nobody."""
        return self._halved(settings, lambda some: git_refuses(self.git, self.config, self.plain, some))

    def _halved(
        self, settings: Sequence[Setting], holds: Callable[[Sequence[Setting]], bool]
    ) -> list[Setting]:
        if not settings or not holds(settings):
            return []
        if len(settings) == 1:
            return list(settings)
        half = len(settings) // 2
        return self._halved(settings[:half], holds) + self._halved(settings[half:], holds)


@pytest.fixture(scope="module")
def target(tmp_path_factory: pytest.TempPathFactory) -> Target:
    folder = tmp_path_factory.mktemp("hostile")  # no blank: a shell would part a program from its name there
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("GLOST_CACHE", str(folder / "cache"))
        patch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
        patch.setenv("GIT_CONFIG_NOSYSTEM", "1")
        return Target(folder)


@pytest.fixture(autouse=True)
def without_settings_of_the_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")


DRIVERS = (
    "filter.trap.clean", "filter.trap.smudge", "filter.trap.process", "filter.trap.required",
    "diff.trap.textconv", "diff.trap.command", "diff.trap.cachetextconv", "diff.trap.xfuncname",
    "merge.trap.driver", "merge.trap.recursive", "merge.default", "diff.trustExitCode",
    "filter.odd=name.clean", "filter.odd.name.process", "remote.trap.promisor", "extensions.partialClone",
    "pager.status", "pager.diff", "pager.rev-parse", "alias.log", "alias.status", "alias.diff", "alias.rev-parse",
    "alias.cat-file", "alias.ls-files", "alias.merge-file", "alias.config",
)  # fmt: skip
"""Names that are documented elsewhere than in git-config(1), or that stand there for a whole family."""

NOT_FOR_ANSWERS = {
    "core.bare": "says that there is no working folder",
    "core.repositoryFormatVersion": "says that this git is too old for the repository",
    "extensions.objectFormat": "names another kind of store",
    "extensions.partialClone": "says that contents are missing",
    "extensions.worktreeConfig": "is one file of settings more",
    "core.worktree": "tried apart, with a folder that is there",
    "include.path": "tried apart, with a file that is there",
    "includeIf.trap.path": "holds for no repository",
    "core.attributesFile": "says what a page is, as .gitattributes does",
    "core.excludesFile": "says which pages are nobody's business, as .gitignore does",
}
"""Settings that say what a repository is or holds, not how it is shown. They run nothing either."""

VALUES = ("PROGRAM", "true", "false", "1", "never", "/nonexistent")


@pytest.mark.parametrize("value", VALUES)
def test_every_setting_that_git_documents(target: Target, value: str) -> None:
    names = [*map(filled, documented()), *DRIVERS]
    assert len(names) > 500
    all_of_them = [(name, target.traps.named(name) if value == "PROGRAM" else value) for name in names]
    refused = target.refused(all_of_them)
    tried = [setting for setting in all_of_them if setting not in refused]
    assert len(tried) > 400
    found = target.effective([setting for setting in tried if setting[0] not in NOT_FOR_ANSWERS])
    assert found == []


# What git itself refuses for some value above, and what has values of its own.
ODD: Sequence[Setting] = (
    ("core.abbrev", "4"), ("core.abbrev", "40"), ("core.abbrev", "no"), ("core.quotePath", "true"),
    ("core.disambiguate", "blob"), ("core.ignoreStat", "true"), ("core.safecrlf", "true"),
    ("core.bigFileThreshold", "1"), ("core.preloadIndex", "false"), ("core.untrackedCache", "true"),
    ("core.splitIndex", "true"), ("core.fsmonitor", "true"), ("core.warnAmbiguousRefs", "false"),
    ("core.whitespace", "tabwidth=1,cr-at-eol"), ("core.commentChar", "*"), ("core.notesRef", "refs/heads/side"),
    ("core.packedGitWindowSize", "1"), ("core.packedGitLimit", "1"), ("core.deltaBaseCacheLimit", "1"),
    ("core.logAllRefUpdates", "always"), ("core.sharedRepository", "0777"), ("core.eol", "crlf"),
    ("core.trustctime", "false"), ("core.multiPackIndex", "false"), ("core.commitGraph", "false"),
    ("color.ui", "always"), ("color.diff", "always"), ("color.status", "always"), ("color.branch", "always"),
    ("column.ui", "always,row,dense"), ("column.status", "always"), ("commit.gpgSign", "true"),
    ("diff.relative", "true"), ("diff.renames", "copies"), ("diff.renames", "false"), ("diff.renameLimit", "1"),
    ("diff.noprefix", "true"), ("diff.mnemonicPrefix", "true"), ("diff.orderFile", "/nonexistent/order"),
    ("diff.algorithm", "patience"), ("diff.algorithm", "histogram"), ("diff.context", "99"),
    ("diff.interHunkContext", "99"), ("diff.submodule", "log"), ("diff.ignoreSubmodules", "none"),
    ("diff.ignoreSubmodules", "all"), ("diff.dirstat", "files,10,cumulative"), ("diff.colorMoved", "zebra"),
    ("diff.wsErrorHighlight", "all"), ("diff.wordRegex", "."), ("diff.statGraphWidth", "1"),
    ("diff.suppressBlankEmpty", "true"), ("diff.autoRefreshIndex", "false"), ("diff.indentHeuristic", "false"),
    ("feature.manyFiles", "true"), ("feature.experimental", "true"), ("format.pretty", "raw"),
    ("format.pretty", "format:%x00%H"), ("pretty.medium", "oneline"), ("format.notes", "*"),
    ("gpg.format", "ssh"), ("grep.lineNumber", "true"), ("i18n.logOutputEncoding", "UTF-16"),
    ("i18n.logOutputEncoding", "ISO-8859-1"), ("i18n.commitEncoding", "ISO-8859-1"), ("index.sparse", "true"),
    ("index.version", "4"), ("index.threads", "9"), ("log.abbrevCommit", "true"), ("log.date", "relative"),
    ("log.date", "format:%s"), ("log.decorate", "full"), ("log.diffMerges", "off"), ("log.diffMerges", "combined"),
    ("log.diffMerges", "remerge"), ("log.follow", "true"), ("log.mailmap", "false"), ("log.showRoot", "false"),
    ("log.showSignature", "true"), ("log.excludeDecoration", "*"), ("log.initialDecorationSet", "all"),
    ("mailmap.blob", "HEAD:.gitattributes"), ("merge.conflictStyle", "diff3"), ("merge.conflictStyle", "zdiff3"),
    ("merge.renames", "false"), ("merge.verbosity", "5"), ("notes.displayRef", "*"), ("protocol.allow", "always"),
    ("protocol.version", "0"), ("rerere.enabled", "true"), ("status.branch", "true"), ("status.short", "true"),
    ("status.relativePaths", "false"), ("status.renames", "copies"), ("status.renameLimit", "1"),
    ("status.showStash", "true"), ("status.showUntrackedFiles", "no"), ("status.showUntrackedFiles", "normal"),
    ("status.submoduleSummary", "true"), ("status.aheadBehind", "false"), ("status.displayCommentPrefix", "true"),
    ("submodule.recurse", "true"), ("submodule.active", "*"), ("tag.sort", "-taggerdate"),
    ("branch.sort", "-committerdate"), ("versionsort.suffix", "-x"), ("user.useConfigOnly", "true"),
    ("safe.bareRepository", "all"), ("core.alternateRefsPrefixes", "refs/heads"), ("blame.showRoot", "true"),
    ("trace2.eventTarget", "1"), ("trace2.normalTarget", "2"), ("trace2.perfTarget", "2"),
    ("core.autocrlf", "input"), ("core.autocrlf", "true"), ("core.checkStat", "minimal"),
    ("core.symlinks", "false"), ("core.ignoreCase", "true"), ("core.fileMode", "false"),
    ("core.sparseCheckout", "true"), ("core.precomposeUnicode", "true"), ("core.protectNTFS", "true"),
    ("core.hideDotFiles", "true"), ("core.useReplaceRefs", "false"), ("core.compression", "9"),
    ("core.filesRefLockTimeout", "1"), ("transfer.hideRefs", "refs/tags"), ("uploadpack.hideRefs", "refs/heads"),
    ("advice.statusHints", "false"), ("diff.trap.binary", "true"), ("diff.trap.wordRegex", "."),
    ("filter.trap.required", "true"), ("includeIf.gitdir:**.path", "/nonexistent"), ("help.autoCorrect", "1"),
)  # fmt: skip


@pytest.mark.parametrize("where", ["of the repository", "of the person"])
def test_values_that_a_setting_has_of_its_own(
    target: Target, where: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    # Where a name stands twice the last one counts: each value gets its turn.
    rounds: list[dict[str, str]] = [{} for _ in range(3)]
    for name, value in ODD:
        next(one for one in rounds if name not in one)[name] = value
    assert sum(map(len, rounds)) == len(ODD)
    if where == "of the repository":
        assert [target.effective(list(one.items())) for one in rounds] == [[], [], []]
        return
    for one in rounds:
        (tmp_path / "gitconfig").write_text(settings_text(one.items()))
        monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "gitconfig"))
        assert answers(target.top) == target.answers
    assert target.traps.called() == set()


def test_other_ways_to_the_same(target: Target, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file of settings that is taken in, another working folder, hooks where they lie by themselves, what a person's
    environment says, and attributes that nobody commits."""
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    hostile = [(name, target.traps.named(name)) for name in (*RUN_UNPROTECTED, "diff.external", "core.pager")]
    (tmp_path / "taken in").write_text(settings_text([*hostile, ("diff.relative", "true")]))
    attributes = target.top / ".git" / "info" / "attributes"
    attributes.parent.mkdir(exist_ok=True)
    attributes.write_text("* filter=trap diff=trap\n")
    target.traps.hooks(target.top / ".git" / "hooks")
    assert len(list((target.top / ".git" / "hooks").iterdir())) == len(HOOKS)
    for settings in (
        [("include.path", str(tmp_path / "taken in"))],
        [("core.worktree", str(elsewhere))],
        [("core.attributesFile", str(attributes)), *hostile],
    ):
        assert target.with_settings(settings) == (target.answers, set())
    said = {
        "GIT_EXTERNAL_DIFF": "external", "GIT_PAGER": "pager", "PAGER": "pager", "GIT_EDITOR": "editor",
        "GIT_SSH": "ssh", "GIT_SSH_COMMAND": "ssh", "GIT_ASKPASS": "askpass", "GIT_PROXY_COMMAND": "proxy",
    }  # fmt: skip
    for name, value in said.items():
        monkeypatch.setenv(name, target.traps.named(value))
    odd = {
        "GIT_OBJECT_DIRECTORY": str(elsewhere), "GIT_CEILING_DIRECTORIES": str(target.top.parent),
        "GIT_COMMON_DIR": str(elsewhere), "GIT_NAMESPACE": "x", "GIT_LITERAL_PATHSPECS": "0",
        "GIT_ICASE_PATHSPECS": "1", "GIT_CONFIG": str(elsewhere), "GIT_INDEX_FILE": str(elsewhere / "index"),
        "GIT_DIFF_OPTS": "-u0", "GIT_TRACE": "1", "GIT_TRACE_SETUP": "2", "LANGUAGE": "de", "LC_ALL": "C.UTF-8",
        "GIT_DEFAULT_HASH": "sha256", "GIT_NO_REPLACE_OBJECTS": "1", "GIT_PREFIX": "shelf/", "GIT_DIR": str(elsewhere),
        "GIT_FLUSH": "0", "GIT_CONFIG_COUNT": "1", "GIT_CONFIG_KEY_0": "diff.relative", "GIT_CONFIG_VALUE_0": "true",
        "GIT_CONFIG_PARAMETERS": "'log.showroot'='false'", "TZ": "Pacific/Kiritimati",
    }  # fmt: skip
    for name, value in odd.items():
        monkeypatch.setenv(name, value)
    assert target.with_settings(hostile) == (target.answers, set())
    attributes.unlink()
    shutil.rmtree(target.top / ".git" / "hooks")


def test_what_git_shows_is_filled_without_running_anything(target: Target) -> None:
    """It reads every page of every commit, and writes a reference."""
    target.traps.hooks(target.top / ".git" / "hooks")
    attributes = target.top / ".gitattributes"
    before = attributes.read_text()
    attributes.write_text("")  # a page that a filter or a driver of its own changes is not filled
    hostile = [(name, target.traps.named(name)) for name in (*RUN_UNPROTECTED, "diff.external", "core.pager")]
    target.config.write_text(target.plain + settings_text([*hostile, ("i18n.logOutputEncoding", "UTF-16")]))
    try:
        done = glost("git-setup", "--fill", cwd=target.top)
        assert (done.returncode, done.stderr) == (0, "")
        count = int(done.stdout.splitlines()[-1].split()[0])
        assert count > 3
        assert len(target.git("ls-tree", "-r", "--name-only", "refs/notes/textconv/glost").split()) == count
        assert glost("git-setup", "--undo", cwd=target.top).returncode == 0
        assert target.traps.called() == set()
    finally:
        target.config.write_text(target.plain)
        shutil.rmtree(target.top / ".git" / "hooks")
        attributes.write_text(before)


RUN_UNPROTECTED = ("core.fsmonitor", "filter.trap.clean", "filter.trap.process", "core.hooksPath")
CHANGE_UNPROTECTED: Sequence[Setting] = (("core.abbrev", "40"), ("diff.orderFile", "/nonexistent"))
"""Others have lost their hold already: diff.relative and core.worktree, since git is asked from the top and told where
that is; those of its log, since the commits of a recipe are asked for without what they show, in one encoding."""


def test_the_traps_are_set(target: Target, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without what glost fixes these settings run programs, and change answers: the tests above would see it."""
    for name, made in unprotected().items():
        monkeypatch.setattr(run, name, made)
    monkeypatch.setattr(run, "_without_filters", lambda top: {})
    hooks = target.top.parent / "hooks"
    target.traps.hooks(hooks)
    for at, name in enumerate(RUN_UNPROTECTED, 2):
        value = str(hooks) if name == "core.hooksPath" else target.traps.named(name)
        os.utime(target.top / "first.glost", ns=(at * 10**9, at * 10**9))  # so that git looks at it again
        _, called = target.with_settings([(name, value)])
        assert called, name
    assert [setting for setting in CHANGE_UNPROTECTED if target.answers == target.try_settings(setting)] == []


# ---- what lies in a repository, without any setting of its own ------------------------------------------------


def hostile_store(folder: Path, traps: Traps) -> Path:
    """A folder of recipes in the form of a bare repository, whose settings name programs, as files to be committed."""
    git = Git(folder)
    folder.mkdir()
    git("init", "-q", "--bare", "--template=", ".")
    for name in ("card", "other", "third"):
        (folder / f"{name}.glost").write_text(page(name.title()))
    config = (folder / "config").read_text()
    store = ["--git-dir=.", "--work-tree=."]
    (folder / "config").write_text(config.replace("bare = true", "bare = false"))
    git(*store, "add", ".gitattributes", "card.glost", fails=True)
    git(*store, "add", "card.glost", "other.glost", "third.glost")
    git(*store, "commit", "-q", "-m", "cards")
    settings = [(name, traps.named(f"bare-{name}")) for name in RUN_UNPROTECTED[:3]]
    (folder / "config").write_text(
        config.replace("bare = true", "bare = false\n\tworktree = .") + settings_text(settings)
    )
    traps.hooks(folder / "hooks")
    for kept in ("refs/heads", "refs/tags"):
        (folder / kept / ".keep").touch()
    return folder


def test_a_folder_in_the_form_of_a_repository_is_not_taken_for_one(tmp_path: Path) -> None:
    traps = Traps(tmp_path / "traps")
    (tmp_path / "up").mkdir()
    up = Git(tmp_path / "up")
    up("init", "-q", "-b", "main")
    hostile_store(up.top / "cards", traps)
    up.commit("cards")
    traps.called()
    subprocess.run(["git", "clone", "-q", "up", "clone"], cwd=tmp_path, check=True, capture_output=True)
    clone = tmp_path / "clone"
    assert (clone / "cards" / "hooks" / "post-index-change").is_file()
    head = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], cwd=clone, capture_output=True, text=True, check=True
    ).stdout.strip()
    for where in (clone, clone / "cards"):
        above = "cards/" if where == clone else ""
        for command in (
            ("convert", ".", "--to", "sheet"),
            ("convert", f"{above}card.glost", "--to", "sheet"),
            ("catalog", ".", "--to", "csv"),
            ("history", f"{above}card.glost", "--output", "csv"),
            ("lint", "--changed", "--", above or "."),
            ("format", "--changed", "--", above or "."),
            ("compare", "main"),
        ):
            done = glost(*command, cwd=where)
            assert "Traceback" not in done.stderr
            assert done.returncode == 0, done.stderr
            assert traps.called() == set(), command
            if command[0] in ("convert", "catalog", "history"):
                assert head in done.stdout  # the repository that was cloned answers
    # git itself, asked in there, does run them: what the above is compared with.
    (clone / "cards" / "card.glost").write_text(page("Card", 30))
    subprocess.run(["git", "status"], cwd=clone / "cards", capture_output=True, check=False)
    assert traps.called()


@pytest.mark.parametrize("settings", [True, False])
def test_a_repository_within_is_not_asked(tmp_path: Path, settings: bool) -> None:
    traps = Traps(tmp_path / "traps")
    git = studio(tmp_path / "studio")
    inner = studio(git.top / "inner")
    (inner.top / "glost.yaml").unlink()
    if not settings:
        (git.top / "glost.yaml").unlink()
    traps.hooks(inner.top / ".git" / "hooks")
    hostile = [(name, traps.named(name)) for name in RUN_UNPROTECTED[:3]]
    config = inner.top / ".git" / "config"
    config.write_text(config.read_text() + settings_text(hostile))
    for command in (("convert", "--to", "sheet"), ("catalog", "--to", "csv"), ("lint", "--changed")):
        done = glost(*command, cwd=git.top)
        assert "inner is a repository of its own" in done.stderr
        assert traps.called() == set()
    done = glost("convert", "--to", "sheet", cwd=git.top)
    assert done.stdout.count("revision not known") == 7  # the pages in there
    assert "glost: the revision of 7 recipes is not known: " in done.stderr
    # Who names it asks it, and it still runs nothing.
    assert glost("lint", "--changed", "--", "inner", cwd=git.top).returncode == 1
    assert traps.called() == set()


def test_nothing_is_fetched_for_what_is_missing(tmp_path: Path) -> None:
    """A partial clone, whose git would start a program to fetch a content that it does not have."""
    traps = Traps(tmp_path / "traps")
    git = studio(tmp_path / "studio")
    git("config", "uploadpack.allowFilter", "true")
    git.commit("all")
    clone = tmp_path / "clone"
    subprocess.run(
        ["git", "clone", "-q", "--filter=blob:none", f"file://{git.top}", str(clone)],
        check=True, capture_output=True,
    )  # fmt: skip
    hostile = Git(clone)
    hostile("config", "core.sshCommand", traps.named("ssh"))
    hostile("config", "protocol.allow", "always")
    for url in (f"file://{git.top}", "ssh://host.example.org/x", "ext::" + traps.named("ext"), "trap::x"):
        hostile("config", "remote.origin.url", url)
        hostile("config", "remote.origin.uploadpack", traps.named("uploadpack"))
        hostile("config", "remote.origin.vcs", "trap") if url == "trap::x" else None
        helper = executable(tmp_path / "path" / "git-remote-trap", Path(traps.named("helper")).read_text())
        path = f"{helper.parent}{os.pathsep}{os.environ['PATH']}"
        for command in (
            ("history", "shelf/moss.glost"), ("compare", "first", "HEAD"), ("convert", "--to", "sheet"),
            ("lint", "--changed", "first"), ("catalog", "--to", "csv"),
        ):  # fmt: skip
            done = glost(*command, cwd=clone, PATH=path)
            assert traps.called() == set(), (url, command)
            assert "Traceback" not in done.stderr
            if command[0] in ("history", "compare"):
                assert done.returncode == 2  # the contents are not there, and that is told
                assert "git could not" in done.stderr
    # git itself would start it.
    hostile("config", "--unset", "remote.origin.vcs")
    hostile("config", "remote.origin.url", f"file://{git.top}")
    hostile("log", "-p", fails=True)
    assert traps.called()


@pytest.mark.parametrize("entry", ["", ".", "bin", "{here}", "{here}/bin", "{linked}"])
def test_a_git_that_came_with_the_files_is_not_started(tmp_path: Path, entry: str) -> None:
    traps = Traps(tmp_path / "traps")
    git = studio(tmp_path / "studio")
    for place in (git.top, git.top / "bin"):
        place.mkdir(exist_ok=True)
        shutil.copy(traps.named("git"), place / "git")
    (tmp_path / "linked").symlink_to(git.top / "bin")
    first = entry.format(here=git.top, linked=tmp_path / "linked")
    path = os.pathsep.join((first, os.environ["PATH"]))
    done = glost("convert", "first.glost", "--to", "sheet", cwd=git.top, PATH=path)
    assert "revision " in done.stdout
    assert "not known" not in done.stdout
    alone = glost("convert", "first.glost", "--to", "sheet", cwd=git.top, PATH=first)
    assert "revision not known" in alone.stdout
    assert "git could not be started: there is none on the path" in alone.stderr
    assert glost("merge", "base.side", "ours.side", "theirs.side", cwd=git.top, PATH=path).returncode == 1
    assert traps.called() == set()


def test_git_is_started_in_one_place() -> None:
    """Nothing else in glost starts a program."""
    sources = Path(run.__file__).parents[1]
    starting = re.compile(
        r"\b(subprocess|pty|os\.system|os\.popen|os\.exec\w+|os\.spawn\w+|os\.posix_spawnp?|create_subprocess\w+)\b"
    )
    found = {
        str(path.relative_to(sources))
        for path in sources.rglob("*.py")
        if starting.search(path.read_text("utf-8"))
    }
    assert found == {"git/run.py"}
    assert Path(run.__file__).read_text("utf-8").count("subprocess.run(") == 1
