"""Lists the tests that cargo has built, from the messages that it prints as JSON.

Reads them from the standard input; prints a line a test: package, kind (lib, bin, test or
example), name, program and the package's folder, with tabs between them.
"""

import json
import pathlib
import sys

for line in sys.stdin:
    message = json.loads(line)
    if message["reason"] != "compiler-artifact" or not message["profile"]["test"] or not message["executable"]:
        continue
    folder = pathlib.Path(message["manifest_path"]).parent
    target = message["target"]
    # path+file:///folder#name@version, or #version where the folder has the package's name.
    package = message["package_id"].rpartition("#")[2]
    package = package.partition("@")[0] if "@" in package else folder.name
    print(package, target["kind"][0], target["name"], message["executable"], folder, sep="\t")
