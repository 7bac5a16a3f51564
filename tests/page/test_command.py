"""`advisor page`: its options, where it may be reached, https, and how it ends."""

import http.client
import os
import signal
import socket
import ssl
import stat
import subprocess
import sys
import time
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from threading import Event

import pytest
import segno
from click.testing import CliRunner
from demo_made import AT, NOW, demo_garden

from advisor.cli.main import cli
from advisor.errors import Refused
from advisor.page import serve, tls
from advisor.page.guard import key_file

ENDED = (0, 130)  # by the keyboard while it serves, or before it did


def started(path: Path, *args: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", "from advisor.cli.main import main; main()", "--garden", str(path),
         "page", "--port", "0", "--at", AT, *args], stdin=subprocess.DEVNULL, text=True,
        stderr=subprocess.PIPE, stdout=subprocess.PIPE)


def line_with(process: subprocess.Popen[str], words: str) -> str:
    assert process.stderr
    for line in process.stderr:
        if words in line:
            return line.strip()
    raise AssertionError(f"never said: {words}")


def port_of(line: str) -> int:
    return int(line.split("//")[1].split("/")[0].split(":")[1])


def end(process: subprocess.Popen[str], how: signal.Signals = signal.SIGINT) -> int:
    process.send_signal(how)
    process.communicate(timeout=20)
    return process.returncode


@pytest.mark.parametrize(("args", "says"), [
    (["--certificate", "x.pem"], "go together"), (["--key", "k"], "go together"),
    (["--certificate", "a", "--key", "b"], "go together"), (["--port", "99999"], "range")])
def test_wrong_usage(tmp_path: Path, args: Sequence[str], says: str) -> None:
    told = CliRunner().invoke(cli, ["--garden", str(demo_garden(tmp_path)), "page", *args])
    assert told.exit_code == 2
    assert says in told.stderr


def test_a_garden_that_is_not_there_is_refused(tmp_path: Path) -> None:
    told = CliRunner().invoke(cli, ["--garden", str(tmp_path / "none.db"), "page"])
    assert told.exit_code == 1
    assert "advisor start" in told.stderr
    assert not key_file(tmp_path / "none.db").exists()


def test_a_port_that_is_taken_is_refused() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(Refused, match="--port.*a port that is free"):
            serve.bound(taken.getsockname()[1], lan=False)


def test_only_this_computer_reaches_it(tmp_path: Path) -> None:
    with serve.bound(0, lan=False) as listening:
        assert listening.getsockname()[0] == "127.0.0.1"
    process = started(demo_garden(tmp_path))
    try:
        asking = http.client.HTTPConnection(
            "127.0.0.1", port_of(line_with(process, "The round:")), timeout=60)
        asking.request("GET", "/")
        answer = asking.getresponse()
        assert answer.status == 200
        assert b"Greybeard" in answer.read()
        asking.close()
    finally:
        assert end(process) in ENDED


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("more", [(), ("--tls",)], ids=["plain", "tls"])
def test_ended_all_lies_in_the_one_file(tmp_path: Path, how: signal.Signals,
                                        more: Sequence[str]) -> None:
    """By the keyboard or by the system: a copy of the file made then holds all."""
    path = demo_garden(tmp_path)
    process = started(path, *more)
    try:
        line_with(process, "Certificate:" if more else "The round:")
        until = time.monotonic() + 60.0
        while not path.with_name("garden.db-wal").exists() and time.monotonic() < until:
            time.sleep(0.05)  # its own first round opens the garden
        time.sleep(0.2)
    finally:
        assert end(process, how) in ENDED
    assert sorted(each.name for each in path.parent.glob("garden.db-*")) == []


def test_on_the_house_network_it_shows_a_code_and_warns(tmp_path: Path) -> None:
    process = started(demo_garden(tmp_path), "--lan")
    try:
        line = line_with(process, "The round:")
        assert line_with(process, "Pairing code:").count(" ") == 3
        assert "read along" in line_with(process, "network")
        host = line.split("//")[1].split("/")[0]
        asking = http.client.HTTPConnection("127.0.0.1", port_of(line), timeout=60)
        asking.request("GET", "/", headers={"Host": host})
        assert asking.getresponse().status == 303
        asking.close()
    finally:
        assert end(process) in ENDED


def test_the_picture_is_the_code_of_the_address_that_is_shown(tmp_path: Path) -> None:
    """Its squares are read off the terminal and compared with those made from the letters."""
    process = started(demo_garden(tmp_path), "--lan")
    try:
        url = line_with(process, "The round:").split()[2]
        assert process.stderr
        drawn = []
        for line in process.stderr:
            if line.startswith("Pairing code:"):
                code = line.split(":")[1].replace(" ", "").strip()
                break
            drawn.append(line.rstrip("\n"))
    finally:
        assert end(process) in ENDED
    halves = {"\u2588": (0, 0), " ": (1, 1), "\u2580": (0, 1), "\u2584": (1, 0)}  # dark is 1
    rows = [[halves[letter][half] for letter in line] for line in drawn for half in (0, 1)]
    wanted = [[*row] for row in segno.make(f"{url}pair?code={code}").matrix_iter(border=4)]
    assert rows[:len(wanted)] == wanted
    assert all(all(row) for row in rows[len(wanted):])


def test_forgotten_phones_must_pair_anew(tmp_path: Path) -> None:
    path = demo_garden(tmp_path)
    keys = []
    for args in ([], [], ["--forget-phones"]):
        process = started(path, *args)
        line_with(process, "The round:")
        keys.append(key_file(path).read_bytes())
        assert end(process) in ENDED
    assert keys[0] == keys[1] != keys[2]


def test_by_https_with_a_certificate_made_here(tmp_path: Path) -> None:
    path = demo_garden(tmp_path)
    process = started(path, "--tls")
    try:
        port = port_of(line_with(process, "The round: https"))
        certificate = Path(line_with(process, "Certificate:").split(": ")[1])
        trusting = ssl.create_default_context(cafile=str(certificate))
        for where in ("/", "/worker.js"):
            asking = http.client.HTTPSConnection("127.0.0.1", port, timeout=60, context=trusting)
            asking.request("GET", where)
            answer = asking.getresponse()
            text = answer.read()
            assert answer.status == 200
            if where == "/":
                assert "Secure" in answer.getheader("Set-Cookie", "")
                assert b"page.webmanifest" in text
            asking.close()
    finally:
        end(process)


def test_a_certificate_is_kept_until_it_ends_or_the_address_changes(tmp_path: Path) -> None:
    garden = tmp_path / "garden.db"
    certificate, key = tls.made(garden, ["127.0.0.1"], NOW)
    first = certificate.read_bytes()
    assert tls.made(garden, ["127.0.0.1"], NOW) == (certificate, key)
    assert certificate.read_bytes() == first
    tls.made(garden, ["127.0.0.1", "192.168.1.5"], NOW)
    second = certificate.read_bytes()
    assert second != first
    tls.made(garden, ["127.0.0.1"], NOW + timedelta(days=800))
    assert certificate.read_bytes() != second
    if os.name == "posix":
        assert stat.S_IMODE(key.stat().st_mode) == 0o600
    tls.context(certificate, key)


def test_a_certificate_that_is_none_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.pem").write_text("nothing")
    with pytest.raises(Refused, match="--certificate"):
        tls.context(tmp_path / "a.pem", tmp_path / "a.pem")


def test_what_fails_once_beside_the_page_is_done_again(caplog: pytest.LogCaptureFixture) -> None:
    """Weather is asked for on, even after a fault that nobody foresaw."""
    faults, done = [KeyError("unforeseen"), Refused("a", "b", "c", "d")], Event()

    def work() -> None:
        if faults:
            raise faults.pop(0)
        done.set()

    ended = serve.beside(work, 0.01)
    assert done.wait(30)
    ended.set()
    assert "unforeseen" in caplog.text


def test_the_help_of_the_page_loads_no_server() -> None:
    code = ("import sys\nfrom advisor.cli.main import cli\n"
            "try:\n    cli(['page', '--help'])\nexcept SystemExit:\n    pass\n"
            "print([n for n in ('flask', 'waitress', 'segno', 'cryptography', 'numpy') "
            "if n in sys.modules])")
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.splitlines()[-1] == "[]"
