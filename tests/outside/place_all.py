"""Runs every place check and ends with how many passed: what CI calls.

Once before: pip install --no-deps -r tests/outside/requirements-place.txt
"""

import pathlib
import subprocess
import sys

CHECKS = ["prefixes", "geodesics", "counties", "countries", "data"]


def main():
    here = pathlib.Path(__file__).parent
    failed = 0
    for check in CHECKS:
        print(f"== place_{check}", flush=True)
        failed += subprocess.run([sys.executable, str(here / f"place_{check}.py")]).returncode != 0
    print(f"{len(CHECKS) - failed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
