"""Plans books in the middle of their week with general-purpose solvers, and compares with what trying everything found.

agree.py LIST [highs]    where LIST has a line a book: file, kept plan, Monday, weeks, index of now, the least cost in cents

CP-SAT proves every one, HiGHS too where asked; exit 1 where one does not, or proves another cost.
"""

import json
import os
import sys

import model
from book import load

SECONDS = 60  # a book and solver


def agree(path, kept, monday, weeks, now, cost, with_highs):
    with open(kept, encoding="utf-8") as file:
        book = load(path, monday, int(weeks), int(now), json.load(file))
    program = model.build(book)
    proved = {"CP-SAT": model.cpsat(program, SECONDS)}
    if with_highs:
        proved["HiGHS"] = model.highs(program, SECONDS)
    told = ", ".join(f"{solver} {'proves nothing' if best is None else best / 100}" for solver, best in proved.items())
    return f"trying everything {int(cost) / 100}, {told}", all(best == int(cost) for best in proved.values())


def main(listed, with_highs=""):
    passed = failed = 0
    with open(listed, encoding="utf-8") as lines:
        for line in lines:
            *row, cost = line.split()
            found, right = agree(*row, cost, with_highs == "highs")
            passed, failed = passed + right, failed + (not right)
            print(f"{'pass' if right else 'FAIL'} {os.path.basename(row[0])}: {found}", flush=True)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
