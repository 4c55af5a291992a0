"""The shipped recorder config has the pins, polarities and channels of pins.toml."""

import os
import re
import subprocess
import tempfile
import tomllib
from pathlib import Path

from .lists import PINS
from .table import ROOT

SHIPPED = ROOT.parent / "firmware" / "package" / "recorder.toml"


def stated(text):
    """All keys of a config with their values, those behind a '#' as examples included.

    Gives {"section.key": value}. A line in words is no key; a key that is active
    wins over an example of the same key.
    """
    section, found, active = "", {}, set()
    for line in text.splitlines():
        head = re.match(r"\s*\[([a-z_]+)\]\s*$", line)
        if head:
            section = head.group(1)
            continue
        entry = re.match(r"\s*(#\s*)?([a-z_]+)\s*=\s*(\S.*)$", line)
        if not entry:
            continue
        try:
            value = tomllib.loads(f"value = {entry.group(3)}")["value"]
        except tomllib.TOMLDecodeError:
            continue
        name = f"{section}.{entry.group(2)}"
        if entry.group(1) is None:
            active.add(name)
        elif name in active or name in found:
            continue
        found[name] = value
    return found


def config_of_this_build():
    """The part of the recorder's config that belongs to these circuits."""
    lines = ["# The part of /etc/jumpseat/recorder.toml that belongs to these circuits.",
             "# Made from pins.toml by `check.py --write`. Add [station], [card] and [dial].",
             "", "[sound]", 'device = "default"   # the sound adapter, as the recorder\'s check '
             "lists it", f"rx = {PINS['sound']['rx']}", f"tx = {PINS['sound']['tx']}", "", "[lines]"]
    for pin in PINS["pin"]:
        if pin["config"]:
            pull = f', pull = "{pin["pull"]}"' if pin["pull"] else ""
            lines.append(f'{pin["config"].split(".")[1]} = {{ chip = "{PINS["chip"]}", line = '
                         f'{pin["line"]}, active = "{pin["active"]}"{pull} }}')
    lines += ["", "[gps]", 'serial = { device = "/dev/serial0", baud = 9600 }', ""]
    return "\n".join(lines)


def differences(shipped):
    """What the shipped config and the table do not agree on, in words."""
    found = []
    for pin in PINS["pin"]:
        name = pin["config"] or f"lines.{pin['function']}"
        value = shipped.get(name)
        if not pin["config"]:
            if value is not None:
                found.append(f"{name} is in the shipped config; give it a config key in pins.toml")
            continue
        wanted = {"chip": PINS["chip"], "line": pin["line"], "active": pin["active"]}
        if pin["pull"]:
            wanted["pull"] = pin["pull"]
        if value != wanted:
            found.append(f"{name} is {value} in the shipped config, {wanted} in pins.toml")
    for channel in ("rx", "tx"):
        value, wanted = shipped.get(f"sound.{channel}"), PINS["sound"][f"shipped_{channel}"]
        if value != wanted:
            found.append(f"sound.{channel} is {value} in the shipped config, {wanted} in pins.toml")
    return found


def recorder():
    """The recorder's program, if it has been built; JUMPSEAT_RECORDER names it."""
    named = os.environ.get("JUMPSEAT_RECORDER")
    target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT.parent / "target"))
    places = [Path(named)] if named else [target / kind / "jumpseat-recorder"
                                          for kind in ("release", "debug")]
    return next((place for place in places if place.is_file()), None)


def check(figures):
    """Shipped config against the table, the table's own config against the recorder."""
    shipped = stated(SHIPPED.read_text(encoding="utf-8"))
    wrong = differences(shipped)
    named = sum(1 for pin in PINS["pin"] if pin["config"])
    figures.check("config.pins", not wrong, "; ".join(wrong) or
                  f"{named} pins and 2 channels are the same in pins.toml and the shipped config")
    # The comparison itself must be able to fail.
    for name in ("lines.ptt", "lines.mark"):
        moved = {**shipped, name: {**shipped.get(name, {}), "active": "high"}}
        figures.check(f"config.drift.{name}", differences(moved) != wrong,
                      "a changed polarity is noticed")
    unknown = [name for name in stated(config_of_this_build()) if name not in shipped]
    figures.check("config.keys", not unknown, f"not in the shipped config: {unknown}" if unknown
                  else "every key of hardware/recorder.toml is one of the shipped config's")
    program = recorder()
    if program is None:
        print("skipped: recorder not built; hardware/recorder.toml was not validated by it")
        return
    with tempfile.TemporaryDirectory(prefix="jumpseat-hardware-") as folder:
        path = Path(folder) / "recorder.toml"
        path.write_text(config_of_this_build(), encoding="utf-8")
        done = subprocess.run([program, "validate", "--config", path], capture_output=True,
                              text=True, timeout=30, check=False)
    figures.check("config.valid", done.returncode == 0, (done.stdout + done.stderr).strip()
                  .replace(str(path), "hardware/recorder.toml"))
