"""One writer at a time at a fleet's records: waiting, refusing, and free again however a holder ends."""

import signal
import subprocess
import sys
import threading

import pytest

from riskmodel.errors import TableError
from riskmodel.fleet import locks
from riskmodel.fleet.locks import only_writer


def script(code, *arguments):
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    return subprocess.Popen([sys.executable, "-c", code, *map(str, arguments)], **pipes)


class OtherSystem:
    """The lock of the other system, made of this one's: it refuses as that one does."""

    LK_NBLCK = 2

    def locking(self, handle, mode, count):
        import fcntl

        assert (mode, count) == (2, 1)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise PermissionError(13, "Permission denied") from None


@pytest.fixture(params=["this system", "the other"])
def either_lock(request, monkeypatch):
    """Both kinds of lock, whatever this system has."""
    if request.param == "the other":
        if locks.fcntl is None:
            pytest.skip("this is the other system")
        monkeypatch.setattr(locks, "fcntl", None)
        monkeypatch.setattr(locks, "msvcrt", OtherSystem())


@pytest.mark.usefixtures("either_lock")
def test_a_second_writer_waits_for_the_first(tmp_path):
    order, inside, leave = [], threading.Event(), threading.Event()

    def first():
        with only_writer(tmp_path):
            inside.set()
            leave.wait(5)
            order.append("first")

    thread = threading.Thread(target=first)
    thread.start()
    inside.wait(5)
    threading.Timer(0.05, leave.set).start()
    with only_writer(tmp_path):
        order.append("second")
    thread.join()
    assert order == ["first", "second"]


@pytest.mark.usefixtures("either_lock")
def test_a_lock_that_is_held_too_long_is_a_clear_refusal(tmp_path):
    with (
        only_writer(tmp_path),
        pytest.raises(TableError, match=r"must not be held by another writer for 0.05 seconds: try again"),
        only_writer(tmp_path, patience=0.05),
    ):
        pass


@pytest.mark.usefixtures("either_lock")
def test_a_lock_is_free_again_after_a_refusal_inside_it(tmp_path):
    with pytest.raises(ValueError, match="inside"), only_writer(tmp_path):
        raise ValueError("inside")
    with only_writer(tmp_path, patience=0):
        pass


@pytest.mark.skipif(locks.fcntl is None or not hasattr(signal, "SIGKILL"), reason="needs locks of the system")
def test_the_lock_goes_with_a_killed_holder(tmp_path):
    code = (
        "import sys, pathlib\nfrom riskmodel.fleet.locks import only_writer\n"
        "with only_writer(pathlib.Path(sys.argv[1])):\n    print('held', flush=True)\n    sys.stdin.readline()"
    )
    with script(code, tmp_path) as holder:
        assert holder.stdout.readline() == "held\n"
        with pytest.raises(TableError, match=r"got held"), only_writer(tmp_path, patience=0):
            pass
        holder.kill()
        holder.wait()
    with only_writer(tmp_path, patience=0):
        pass
