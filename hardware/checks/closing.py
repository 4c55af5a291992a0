"""Measures how long the real recorder takes to close, if it has been built."""

import os
import signal
import subprocess
import tempfile
import threading
import time
from pathlib import Path

from .config_match import recorder
from .hold_up import CLOSES_IN

RATE, CHANNELS, PERIOD = 16000, 2, 320
RECORDS_FOR = 4.0
# A capture device that reads a named pipe: no sound card is needed.
ALSA = """pcm.fifoin {{ type file slave.pcm {{ type null }} file /dev/null
  infile {pipe} format raw  hint {{ show on description "fifo" }} }}
"""
CONFIG = """[card]
dir = "{home}/card"
board = "3fa2c1"
[sound]
device = "fifoin"
rate = 16000
channels = 2
period_frames = 320
tx = 1
"""


def feed(pipe, stop):
    """Writes noise into the pipe at the pace of a sound card until told to stop."""
    end = os.open(pipe, os.O_RDWR)
    block = os.urandom(PERIOD * CHANNELS * 2)
    began, sent = time.monotonic(), 0
    while not stop.is_set():
        os.write(end, block)
        sent += 1
        time.sleep(max(0, began + sent * PERIOD / RATE - time.monotonic()))
    os.close(end)


def measure(program, home):
    """Seconds from SIGTERM to the end of the process, and its exit code."""
    (home / "card").mkdir()
    os.mkfifo(home / "in.fifo")
    (home / ".asoundrc").write_text(ALSA.format(pipe=home / "in.fifo"), encoding="utf-8")
    config = home / "recorder.toml"
    config.write_text(CONFIG.format(home=home), encoding="utf-8")
    stop = threading.Event()
    feeder = threading.Thread(target=feed, args=(home / "in.fifo", stop), daemon=True)
    feeder.start()
    process = subprocess.Popen([program, "run", "--config", config], stdout=subprocess.DEVNULL,
                               stderr=subprocess.DEVNULL, env={**os.environ, "HOME": str(home)})
    try:
        time.sleep(RECORDS_FOR)
        told = time.monotonic()
        process.send_signal(signal.SIGTERM)
        code = process.wait(timeout=20)
        return time.monotonic() - told, code
    finally:
        process.kill()
        stop.set()
        feeder.join(timeout=2)


def check(figures):
    """The recorder built here closes within the time that the hold-up is made for."""
    program = recorder()
    if program is None:
        print("skipped: recorder not built; its close time was not measured")
        return
    with tempfile.TemporaryDirectory(prefix="jumpseat-hardware-") as folder:
        home = Path(folder)
        seconds, code = measure(program, home)
        audio = sum(path.stat().st_size for path in home.glob("card/*/audio/*.wav"))
        journal = "".join(path.read_text(encoding="utf-8")
                          for path in home.glob("card/*/journal.jsonl"))
    least = (RECORDS_FOR - 2.5) * RATE * 2
    figures.check("closing.recorded", code == 0 and audio > least and '"shutdown"' in journal,
                  f"exit code {code}, {audio} bytes of audio, journal "
                  + ("closed" if '"shutdown"' in journal else "not closed"))
    figures.check("closing.here", seconds <= CLOSES_IN,
                  f"closed {seconds:.3f} s after SIGTERM on this computer; the hold-up is made "
                  f"for {CLOSES_IN:.2f} s")
