"""Judges the load lists of weeks with things, and finds the fewest drives again.

load_lists.py YARDLESS LIST FEWEST    LIST has a line a week: book, plan; the fewest drives of the first FEWEST weeks are found by CP-SAT

All lists must hold (loads.py), and take as few drives as CP-SAT proves (drives.py); of those that hold, every one that is forged
must be refused by the rule that it breaks. Exit 1 where anything is otherwise, or a forgery could never be made.
"""

import collections
import copy
import json
import subprocess
import sys

import drives
import forged_loads
from loads import Judge, book_of

SECONDS = 120  # a stretch


def lists_of(yardless, book, path, plan):
    command = [yardless, "load", path, "--book", book, "--week", plan["from"], "--now", f"{plan['from']} am", "--json"]
    made = subprocess.run(command, capture_output=True, text=True, check=False)
    if made.returncode != 0:
        raise SystemExit(f"{book}: yardless ends with {made.returncode}: {made.stderr.strip()}")
    return json.loads(made.stdout)


def fewest(judge):
    """What CP-SAT finds otherwise."""
    for first, until in drives.stretches(judge):
        proved, listed = drives.best(judge, first, until, SECONDS)
        # Lists that say that they are not proven may have a drive too many.
        allowed = proved is not None and (proved == listed or (not judge.lists["fewest"] and proved[:2] == listed[:2] and proved[2] < listed[2]))
        if not allowed:
            yield f"L6 {judge.book.text(first)}: {proved} can be met, early and driven, {listed} are listed"


def forge(book, plan, judge, refused, passed):
    for what, rule, lists in forged_loads.all_of(judge.lists, judge):
        found = {breach.split()[0] for breach in Judge(book, plan, lists).breaches}
        (refused if rule in found else passed)[what] += 1


def needless(book, plan, judge, refused, passed):
    lists = copy.deepcopy(judge.lists)
    if forged_loads.needless(lists, judge):
        again = Judge(book, plan, lists)
        if not again.breaches:
            (refused if any(fewest(again)) else passed)["a drive that nobody needs"] += 1


def main(yardless, listed, most):
    wrong, refused, passed, weeks, driven = 0, collections.Counter(), collections.Counter(), 0, collections.Counter()
    with open(listed, encoding="utf-8") as lines:
        for n, line in enumerate(lines):
            path, stored = line.split()
            with open(stored, encoding="utf-8") as file:
                plan = json.load(file)
            book = book_of(path, plan)
            judge = Judge(book, plan, lists_of(yardless, path, stored, plan))
            breaches = judge.breaches or (list(fewest(judge)) if n < int(most) else [])
            weeks, wrong = weeks + 1, wrong + bool(breaches)
            driven[len(judge.lists["drives"])] += 1
            for breach in breaches:
                print(f"FAIL {path.rpartition('/')[2]}: {breach}", flush=True)
            if not breaches:
                forge(book, plan, judge, refused, passed)
                if n < int(most) // 4:
                    needless(book, plan, judge, refused, passed)
    never = [what for what in [*forged_loads.FORGED, "a drive that nobody needs"] if not refused[what] and not passed[what]]
    for what in [*passed, *never]:
        print(f"FAIL {what}: {passed[what]} forged lists pass, {refused[what]} are refused")
    by_drives = ", ".join(f"{count} with {n}" for n, count in sorted(driven.items()))
    print(f"{weeks} weeks of load lists ({by_drives} extra drives), {wrong} not as they must be; {sum(refused.values())} forged lists refused")
    return 1 if wrong or passed or never or not weeks else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
