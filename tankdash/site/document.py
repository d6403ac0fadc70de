"""A YAML 1.2 file as plain text values that know their lines; nothing here knows what a site is.

All scalars stay text, so `7:30`, `on` and `no` mean themselves and every unit is still there to be read.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tankdash.site.problems import Problem, SiteError, printable

LARGEST_FILE = 256 * 1024
"""A site file is a few pages of text; more than this is some other file, [bytes]."""
MOST_VALUES = 20_000
"""Values counted with every alias written out; more than this is an alias bomb."""

DEEPEST = 40
"""Open brackets at one place; a table in a shape has 4."""

Path_ = tuple[str | int, ...]
Value = str | None | list[Any] | dict[str, Any]
"""Text, nothing, a list or a mapping, nested."""

_CORE_TAGS = tuple(
    f"tag:yaml.org,2002:{name}" for name in ("str", "int", "float", "bool", "null", "map", "seq")
)
_RESOLVED_TAGS = (
    *_CORE_TAGS,
    "tag:yaml.org,2002:timestamp",
    "tag:yaml.org,2002:merge",
    "tag:yaml.org,2002:value",
)


_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ufffe\uffff]")


@dataclass
class Document:
    """The values of a file and where each of them stands."""

    file: str
    """Its name, fit to print."""
    root: Mapping[str, Any]
    """Text values, nested."""
    lines: dict[Path_, int] = field(default_factory=dict)
    """Line of each key or list item, from 1."""
    problems: list[Problem] = field(default_factory=list)
    """Found so far; whoever checks adds to it."""

    def line_of(self, path: Path_) -> int:
        """Return the line of the value at `path`, or of the nearest thing around it that is there."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)

    def blame(self, path: Path_, sentence: str) -> None:
        """Add a problem with the value at `path`."""
        self.problems.append(Problem(self.file, self.line_of(path), dotted(path), sentence))


def dotted(path: Path_) -> str:
    """Return keys joined by dots, list items counted from 1.

    Examples
    --------
    >>> dotted(("links", "hose", "ports", 0))
    'links.hose.ports[1]'
    """
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            text += f"{'.' if text else ''}{printable(step)[:60]}"
    return text


def read_document(path: Path) -> Document:
    """Return the values of the file at `path`.

    Raises
    ------
    SiteError
        If it cannot be read as one YAML mapping; duplicate keys and the like are left in `problems`.
    """
    file = printable(path)
    return parse_document(_text_of(path, file), file)


def _fatal(file: str, line: int | None, sentence: str) -> SiteError:
    return SiteError([Problem(file, line, "", sentence)])


def _text_of(path: Path, file: str) -> str:
    try:
        if path.is_dir():
            raise _fatal(file, None, "is a folder; name the site file inside it")
        if path.exists() and not path.is_file():
            raise _fatal(file, None, "is not an ordinary file; name a site file")
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise _fatal(
            file, None, "is not there; write one with `tankdash new`, or name another with --site"
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is not one a file can have"
        raise _fatal(file, None, f"cannot be read: {printable(reason).lower()}") from None
    if len(raw) > LARGEST_FILE:
        raise _fatal(
            file, None, f"is larger than {LARGEST_FILE // 1024} KB, which no site file is; name a site file"
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _fatal(file, line, "is not UTF-8 text; save the file as UTF-8") from None
    control = _CONTROL.search(text)
    if control:
        line = text.count("\n", 0, control.start()) + 1
        raise _fatal(file, line, f"holds a control character (code {ord(control[0])}); take it out")
    return text


def parse_document(text: str, file: str) -> Document:
    """Return the values of YAML `text`; see `read_document`."""
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError, YAMLError
    from ruamel.yaml.nodes import MappingNode

    _refuse_depth(text, file)
    reader = YAML(typ="rt", pure=True)
    try:
        with warnings.catch_warnings():
            # A name given to two values is legal; the reader would print a warning about it.
            warnings.simplefilter("ignore")
            node = reader.compose(text)
    except RecursionError:
        raise _fatal(file, None, "is nested too deeply to be a site file") from None
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        raise _fatal(file, None if mark is None else mark.line + 1, _yaml_sentence(error.problem)) from None
    except (YAMLError, ValueError, AssertionError, IndexError, KeyError, AttributeError, TypeError) as error:
        # The reader trips over some malformed directives and escapes with errors of its own that carry no mark.
        raise _fatal(file, None, _yaml_sentence(str(error).partition("\n")[0])) from None
    if node is None:
        raise _fatal(file, 1, "is empty; write a site file with `tankdash new`")
    if not isinstance(node, MappingNode):
        raise _fatal(
            file, node.start_mark.line + 1, "does not hold `key: value` lines; begin with `site: name`"
        )
    document = Document(file, {})
    document.lines[()] = node.start_mark.line + 1
    try:
        document.root = _Walk(document).mapping(node, ())
    except RecursionError:
        raise _fatal(file, None, "is nested too deeply to be a site file") from None
    return document


def _refuse_depth(text: str, file: str) -> None:
    """Refuse brackets and dashes nested beyond any site file; the YAML reader would take long to find out."""
    depth = 0
    for line, words in enumerate(text.split("\n"), start=1):
        for sign in words:
            if sign in "[{":
                depth += 1
            elif sign in "]}":
                depth = max(0, depth - 1)
        if depth > DEEPEST or words.count("- ") > 10 * DEEPEST or words.count("? ") > 10 * DEEPEST:
            raise _fatal(file, line, "is nested too deeply to be a site file")


def _yaml_sentence(problem: str | None) -> str:
    """Return what the YAML reader says, with advice for the slips people make."""
    said = printable(problem or "something is out of place").strip()
    if "\\t" in said:
        return "a tab stands where spaces belong; indent with spaces"
    if "mapping values are not allowed" in said:
        return (
            "a second `:` or a wrong indent; put the value in quotes, or line the key up with its neighbours"
        )
    if "another document" in said or "single document" in said:
        return "a second document begins here; keep one site in one file"
    return f"is not readable YAML: {said}"


class _Walk:
    """One pass over the composed nodes, counting values and watching for loops."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.count = 0
        self.above: set[int] = set()

    def value(self, node: Any, path: Path_) -> Value:
        """Return a node as text, nothing, a list or a mapping."""
        from ruamel.yaml.nodes import MappingNode, ScalarNode

        self._count(node)
        tag = str(node.tag)
        if tag not in _RESOLVED_TAGS:
            self.document.blame(
                path, f"has a tag ({printable(tag)[:40]}), which a site file does not use; take it out"
            )
            return None
        if isinstance(node, ScalarNode):
            is_plain = node.style not in ("'", '"', "|", ">")
            return None if is_plain and node.value in ("", "~", "null", "Null", "NULL") else str(node.value)
        if id(node) in self.above:
            raise _fatal(
                self.document.file,
                node.start_mark.line + 1,
                "a value holds itself by an alias; write it out",
            )
        self.above.add(id(node))
        inside = self.mapping(node, path) if isinstance(node, MappingNode) else self.sequence(node, path)
        self.above.discard(id(node))
        return inside

    def sequence(self, node: Any, path: Path_) -> list[Any]:
        """Return the items of a list, their lines noted."""
        items: list[Any] = []
        for place, item in enumerate(node.value):
            self.document.lines[(*path, place)] = item.start_mark.line + 1
            items.append(self.value(item, (*path, place)))
        return items

    def mapping(self, node: Any, path: Path_) -> dict[str, Any]:
        """Return the keys of a mapping, their lines noted and repeated ones blamed."""
        from ruamel.yaml.nodes import ScalarNode

        found: dict[str, Any] = {}
        for key_node, value_node in node.value:
            line = key_node.start_mark.line + 1
            if not isinstance(key_node, ScalarNode):
                self.document.problems.append(
                    Problem(
                        self.document.file,
                        line,
                        dotted(path),
                        "has a list or a mapping as a key; keys are words",
                    )
                )
                continue
            key = str(key_node.value)
            here = (*path, key)
            if key in found:
                self.document.problems.append(
                    Problem(
                        self.document.file,
                        line,
                        dotted(here),
                        f"is written twice, first on line {self.document.lines[here]}; keep one of the two",
                    )
                )
                self.value(value_node, here)
                continue
            self.document.lines[here] = line
            found[key] = self.value(value_node, here)
        return found

    def _count(self, node: Any) -> None:
        self.count += 1
        if self.count > MOST_VALUES:
            raise _fatal(
                self.document.file,
                node.start_mark.line + 1,
                "too many values once its aliases are written out; write the site without them",
            )
