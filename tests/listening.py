#!/usr/bin/env python3
"""Prints how many minutes of sound a person hears for each contact, without and with drafts.

    listening.py FOLDER     a folder of N.truth.json and N.draft.json, as tests/judge and tests/judge-generated keep them

Without drafts that is every contact once, from its first word to its last, or the whole
recording if nobody noted when the contacts were. With drafts it is the doubtful spots of every
entry: where a value was heard that is blank, below 90 % or has a doubt, with a second before
and after each. (The review page plays less around a spot, and some unclear words besides, which
are not in the draft's file.)
"""

import json
import pathlib
import sys

FIELDS = ("call", "sent", "received", "name")
AROUND_S = 1.0


def doubtful_s(entry):
    """Seconds to listen to, and whether there are any."""
    spans = set()
    for field in (entry.get(f) for f in FIELDS):
        if not field:
            continue
        probability = field.get("probability")
        if field.get("doubts") or probability is None or probability < 0.9:
            spans |= {(e["segment"], e["start_s"], e["end_s"]) for e in field["evidence"]}
    return sum(to_s - from_s + 2 * AROUND_S for _, from_s, to_s in spans)


def main(folder):
    """Prints one line of figures."""
    contacts = entries = clear = 0
    drive_s = contact_s = spots_s = 0.0
    for truth_file in sorted(pathlib.Path(folder).glob("*.truth.json")):
        truth = json.loads(truth_file.read_text(encoding="utf-8"))
        draft = json.loads(truth_file.with_name(truth_file.name.replace("truth", "draft")).read_text(encoding="utf-8"))
        drive_s += truth["length_s"]
        contacts += len(truth["contacts"])
        contact_s += sum(c["off_s"] - c["on_s"] for c in truth["contacts"])
        spots = [doubtful_s(entry) for entry in draft["drafts"]]
        entries += len(spots)
        clear += spots.count(0.0)
        spots_s += sum(spots)
    if not contacts:
        sys.exit(f"listening: no drives with truth and draft in {folder}")
    print(
        f"listening, minutes a contact: the whole drive {drive_s / 60 / contacts:.1f}, every contact once "
        f"{contact_s / 60 / contacts:.1f}, doubtful spots of the drafts {spots_s / 60 / contacts:.2f}; "
        f"{clear} of {entries} entries without any ({contacts} contacts)"
    )


if __name__ == "__main__":
    main(sys.argv[1])
