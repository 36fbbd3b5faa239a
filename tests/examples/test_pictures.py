"""
The pictures of README.md show what the program prints, and load nothing from elsewhere.
"""

import re
from html import unescape
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

PICTURES = Path(__file__).parents[2] / "examples" / "pictures"
_SPEC = spec_from_file_location("make_pictures", PICTURES / "make.py")
make = module_from_spec(_SPEC)
_SPEC.loader.exec_module(make)


@pytest.mark.parametrize("name", make.SHOWN)
def test_a_picture_is_what_is_printed(name):
    printed = re.sub("\x1b\\[[0-9;]*m", "", make.printed(make.SHOWN[name]))
    assert "Checks the record, not the cylinder." in printed and "commit" not in printed
    for theme in make.THEMES:
        picture = (PICTURES / f"{name}-{theme}.svg").read_text(encoding="utf-8")
        shown = unescape(" ".join(re.findall("<text[^>]*>([^<]*)</text>", picture))).split()
        assert shown == printed.split(), "run: python examples/pictures/make.py"
        assert re.findall("https?://[^\"' ]+", picture) == ["http://www.w3.org/2000/svg"]
        assert "@import" not in picture and "@font-face" not in picture and "<script" not in picture
