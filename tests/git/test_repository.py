"""Asking a repository starts nothing and goes nowhere, whatever is written in its configuration."""

import os

import pytest

from cylfile.cannot import CannotDo
from cylfile.files.git.repository import Objects, Repository
from cylfile.files.git.revision_tree import record_at
from cylfile.files.records import records_on_disk


def test_objects_are_read_to_the_byte(keeping, monkeypatch):
    monkeypatch.chdir(keeping.folder)
    data = b"cylinder K-1\r\n\x00\xff\n" * 10_000
    (keeping.folder / "odd.cyl").write_bytes(data)
    (keeping.folder / "empty.cyl").write_bytes(b"")
    keeping.git("config", "core.autocrlf", "false")
    keeping.commit("Odd files")
    repository = Repository(".")
    blobs = {blob.path: blob.id for blob in repository.files(repository.revision("HEAD"))}
    with Objects(repository) as objects:
        assert objects.read(blobs["odd.cyl"]) == data
        assert objects.read(blobs["empty.cyl"]) == b""
        assert objects.read(blobs["cards.cyl"]).decode() == keeping.text("cards.cyl")
        with pytest.raises(CannotDo, match="git has no object 0000000000"):
            objects.read("0" * 40)
        assert objects.read(blobs["odd.cyl"]) == data


def test_a_revision_holds_what_the_disk_holds(keeping, tmp_path, monkeypatch):
    """Links inside the record are followed as on disk, those out of it said, and dot folders left out."""
    monkeypatch.chdir(keeping.folder)
    keeping.write(".store/kept.cyl", "# kept\n")
    keeping.write("notes.txt", "x")
    keeping.write("CAPITALS.CYL", "# x\n")
    keeping.write(".hidden/x.cyl", "# x\n")
    keeping.write("real/deep/y.cyl", "# y\n")
    (tmp_path / "out.cyl").write_text("cylinder OUT\n")
    for name, target in {
        "link.cyl": "cards.cyl", "kept.cyl": ".store/kept.cyl", "linked": "real", "up": ".", "ring.cyl": "ring.cyl",
        "gone.cyl": "nothing.cyl", "out.cyl": "../out.cyl", "absolute.cyl": str(keeping.folder / "cards.cyl"),
    }.items():  # fmt: skip
        (keeping.folder / name).symlink_to(target)
    keeping.commit("More files")
    repository = Repository(".")
    then, (now,) = record_at(repository, repository.revision("HEAD"), "."), records_on_disk(["."])
    assert [source.path for source in then.texts().sources] == [source.path for source in now.texts().sources]
    assert then.data == {os.path.relpath(path): data for path, data in now.data.items()}
    assert {fault.span.source.path: fault.text for fault in then.texts().faults} == {
        fault.span.source.path: fault.text for fault in now.texts().faults
    }
    assert sorted(fault.span.source.path for fault in then.texts().faults) == ["gone.cyl", "out.cyl", "ring.cyl"]


def test_nothing_of_the_configuration_is_run(keeping):
    """A repository from elsewhere may name programs in its configuration."""
    trap = keeping.folder / "trap"
    trap.write_text(f"#!/bin/sh\ntouch {keeping.folder}/sprung\ncat\n")
    trap.chmod(0o755)
    for key in (
        "core.fsmonitor",
        "core.pager",
        "diff.external",
        "gpg.program",
        "diff.cylfile.textconv",
        "core.sshCommand",
    ):
        keeping.git("config", key, str(trap))
    keeping.git("config", "log.showSignature", "true")
    keeping.write(".gitattributes", "*.cyl diff=cylfile filter=trap\n")
    keeping.git("config", "filter.trap.smudge", str(trap))
    (keeping.folder / ".git" / "hooks").mkdir(exist_ok=True)
    keeping("seal", "--through", "2023-06-30", "--by", "vale")
    for command in ("add --all", "commit --quiet --message Seal"):
        keeping.git("-c", "core.fsmonitor=false", *command.split())
    (keeping.folder / "sprung").unlink(missing_ok=True)
    keeping.replace("sheets.cyl", "2216 psi", "2116 psi")
    assert "brought the seal" in keeping("seal", "--check").out
    assert keeping("compare", "HEAD~1..HEAD", "--each-revision").status == 0
    assert keeping("lint", "--since", "HEAD").status == 1
    assert not (keeping.folder / "sprung").exists()


def test_a_partial_clone_is_not_completed(keeping, tmp_path):
    keeping.git("config", "uploadpack.allowFilter", "true")
    keeping.replace("sheets.cyl", "2216 psi", "2116 psi")
    keeping.commit("Another figure")
    partial = tmp_path / "partial"
    keeping.git("clone", "--quiet", "--filter=blob:none", f"file://{keeping.folder}", str(partial))
    keeping.folder = partial
    assert keeping("compare", "HEAD").status == 0
    status, _, err = keeping("compare", "HEAD~1")
    assert status == 2 and err.startswith("cylfile: git has no object ")
