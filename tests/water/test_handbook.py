"""The contents page of the water floor names every part of it, and each part says what its functions are for."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import tankdash.water

FLOOR = Path(tankdash.water.__file__).parent
FILES = sorted(path for path in FLOOR.glob("*.py") if path.name != "__init__.py")


def test_the_contents_page_names_every_part_once() -> None:
    page = re.split(r"^Signs$", tankdash.water.__doc__ or "", flags=re.MULTILINE)[0]
    assert sorted(re.findall(r"`(\w+)`", page)) == [path.stem for path in FILES]


def public_functions(path: Path) -> list[ast.FunctionDef]:
    """Return the functions of a module and the methods of its classes, those for its own use left out."""
    top = ast.parse(path.read_text(encoding="utf-8")).body
    public = [
        part for part in top if isinstance(part, ast.FunctionDef | ast.ClassDef) and part.name[0] != "_"
    ]
    inner = [part for owner in public if isinstance(owner, ast.ClassDef) for part in owner.body]
    return [part for part in (*public, *inner) if isinstance(part, ast.FunctionDef) and part.name[0] != "_"]


@pytest.mark.parametrize(
    "path", [path for path in FILES if path.stem not in ("elimination", "errors")], ids=lambda path: path.stem
)
def test_every_function_that_takes_or_gives_a_number_names_a_unit(path: Path) -> None:
    silent = []
    for function in public_functions(path):
        given = [one.annotation for one in (*function.args.args, *function.args.kwonlyargs)]
        types = " ".join(ast.unparse(one) for one in (*given, function.returns) if one is not None)
        if re.search(r"\bfloat\b", types) and "[" not in (ast.get_docstring(function) or ""):
            silent.append(function.name)
    assert silent == []
