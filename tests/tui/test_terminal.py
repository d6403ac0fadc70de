"""The program in a real terminal: what it sends there, and that it comes back."""

from __future__ import annotations

import os
import re
import select
import signal
import struct
import sys
import time
from pathlib import Path

import pytest
from plots import NOW, Garden

pty = pytest.importorskip("pty")
CODE = """
import sys
from datetime import datetime
from pathlib import Path
from tankdash.tui.app import run_screen
sys.exit(run_screen(Path(sys.argv[1]), None, datetime.fromisoformat(sys.argv[2])))
"""
WAIT = 30.0
"""Seconds after which a terminal that shows nothing has failed; never waited in full when it works."""


class Terminal:
    """A child process on a pseudo terminal."""

    def __init__(self, path: Path, code: str = CODE, **environ: str) -> None:
        import fcntl
        import termios

        self.sent = b""
        self.pid, self.handle = pty.fork()
        if self.pid == 0:
            os.environ.update(
                {"TERM": "xterm-256color", "COLORTERM": "truecolor", "LANG": "C.UTF-8"} | environ
            )
            os.execv(sys.executable, [sys.executable, "-c", code, str(path), NOW.isoformat()])
        fcntl.ioctl(self.handle, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))

    @property
    def plain(self) -> str:
        """What was sent, without the sequences that steer the terminal."""
        return re.sub(rb"\x1b[\[\]?][0-9;?<>=$]*[a-zA-Z]", b"", self.sent).decode("utf-8", "replace")

    def wait_for(self, words: str) -> None:
        """Read until `words` were sent."""
        end = time.monotonic() + WAIT
        while words not in self.plain:
            assert time.monotonic() < end, self.plain[-2000:]
            ready, _, _ = select.select([self.handle], [], [], 0.2)
            if ready:
                try:
                    self.sent += os.read(self.handle, 65536)
                except OSError:
                    break
        assert words in self.plain, self.plain[-2000:]

    def press(self, keys: str) -> None:
        """Type."""
        os.write(self.handle, keys.encode())

    def end(self) -> int:
        """Read to the end and return the exit status."""
        end = time.monotonic() + WAIT
        while time.monotonic() < end:
            ready, _, _ = select.select([self.handle], [], [], 0.2)
            if ready:
                try:
                    more = os.read(self.handle, 65536)
                except OSError:
                    break
                if not more:
                    break
                self.sent += more
        else:
            os.kill(self.pid, signal.SIGKILL)
        _, status = os.waitpid(self.pid, 0)
        os.close(self.handle)
        return os.waitstatus_to_exitcode(status)


def colours(sent: bytes) -> list[bytes]:
    """Return every sequence that sets a colour other than the terminal's own."""
    found = []
    for codes in re.findall(rb"\x1b\[([0-9;]+)m", sent):
        parts = [int(code) for code in codes.split(b";") if code]
        if any(30 <= code <= 38 or 40 <= code <= 48 or 90 <= code <= 107 for code in parts):
            found.append(codes)
    return found


def test_a_dip_typed_in_a_real_terminal_is_on_disk_when_the_program_is_left(garden: Garden) -> None:
    terminal = Terminal(garden.path)
    terminal.wait_for("usable")
    terminal.press("d")
    terminal.wait_for("wet length")
    terminal.press("60")
    terminal.wait_for("570 L")
    terminal.press("\r")
    terminal.wait_for("Written down")
    terminal.press("q")
    assert terminal.end() == 0
    assert "Traceback" not in terminal.plain
    newest = max(garden.desk().entries(), key=lambda entry: entry.number)
    assert newest.words == "dip north 60 cm"


def test_no_color_sends_no_colour(garden: Garden) -> None:
    terminal = Terminal(garden.path, NO_COLOR="1")
    terminal.wait_for("usable")
    terminal.wait_for("▒")
    terminal.press("q")
    assert terminal.end() == 0
    assert colours(terminal.sent) == []


def test_a_terminal_of_sixteen_colours_is_sent_no_others(garden: Garden) -> None:
    terminal = Terminal(garden.path, TERM="linux", COLORTERM="")
    terminal.wait_for("usable")
    terminal.press("q")
    assert terminal.end() == 0
    assert any(code.endswith(b"44") for code in colours(terminal.sent)), "water is blue"
    assert not any(code.startswith((b"38;", b"48;")) for code in colours(terminal.sent))


def test_a_program_told_to_outlive_its_terminal_leaves_when_that_is_gone(garden: Garden) -> None:
    """As under nohup: the hang-up is not heard, and reading keys would go round for ever."""
    deaf = CODE.replace(
        "import sys\n", "import signal, sys\nsignal.signal(signal.SIGHUP, signal.SIG_IGN)\n", 1
    )
    terminal = Terminal(garden.path, code=deaf)
    terminal.wait_for("usable")
    os.close(terminal.handle)
    end = time.monotonic() + WAIT
    while time.monotonic() < end:
        pid, status = os.waitpid(terminal.pid, os.WNOHANG)
        if pid:
            assert os.waitstatus_to_exitcode(status) == 1, "it left by itself"
            break
        time.sleep(0.05)
    else:
        os.kill(terminal.pid, signal.SIGKILL)
        os.waitpid(terminal.pid, 0)
        pytest.fail("it went on without a terminal")
