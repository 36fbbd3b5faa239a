"""
The files that an editor has open: what is typed there counts, whether it is saved or not.
"""

import os
import posixpath

from cylfile.files.ledger_files import Disk
from cylfile.files.tree import FILE, Tree, is_within


class OpenFiles(Disk):
    """
    The disks of this machine under the files that an editor has open.

    `texts` are those of the open files, by their real paths. What lies in `folder` is shown by its way from there.
    """

    def __init__(self, texts: dict[str, str], folder: str = ""):
        super().__init__()
        self.texts = texts
        self.folder = folder

    def shown(self, path: str) -> str:
        return posixpath.relpath(path, self.folder) if self.folder and is_within(path, self.folder) else path

    def listing(self, folder: str) -> list[tuple[str, str]]:
        new = {posixpath.basename(path): FILE for path in self.texts if posixpath.dirname(path) == folder}
        if new and not os.path.isdir(folder):
            return sorted(new.items())
        return sorted({**new, **dict(super().listing(folder))}.items())

    def target(self, link: str) -> tuple[str, str]:
        return (link, FILE) if link in self.texts else super().target(link)

    def data(self, path: str) -> bytes:
        text = self.texts.get(path)
        # Half a character, which only an editor can have, is no more than a mark here.
        return super().data(path) if text is None else text.encode("utf-8", "replace")


class Unsaved(Tree):
    """A text that was never saved: it lies in no folder, and nothing lies beside it."""

    def __init__(self, texts: dict[str, str]):
        self.texts = texts

    def listing(self, folder: str) -> list[tuple[str, str]]:
        return []

    def target(self, link: str) -> tuple[str, str]:
        if link not in self.texts:
            raise FileNotFoundError(link)
        return link, FILE

    def data(self, path: str) -> bytes:
        return self.texts[self.target(path)[0]].encode("utf-8", "replace")

    def shown(self, path: str) -> str:
        return path or "."

    def above(self, folder: str) -> str | None:
        return None

    def work_tree(self, folder: str) -> str | None:
        return None
