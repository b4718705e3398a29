"""Plans random books with the yardless binary and with two general-purpose solvers, which share nothing with it but the rules.

compare.py YARDLESS LIST    where LIST has a line a book: file, Monday, weeks

Every plan must pass check.py, and cost to the cent what CP-SAT or HiGHS proves to be the least; exit 1 where one does not.
"""

import json
import subprocess
import sys

import model
from book import cents, load
from check import check

SECONDS = 120  # a book, for the planner and for each solver: alone they take a few, beside a busy machine many
QUICK = 2600  # columns up to which HiGHS proves a book in a moment, beside CP-SAT


def compare(yardless, path, monday, weeks):
    """What was found, and whether it is as it should be."""
    command = [yardless, "plan", "--book", path, "--from", monday, "--weeks", weeks, "--seconds", str(SECONDS), "--json"]
    made = subprocess.run(command, capture_output=True, text=True, check=False)
    if made.returncode != 0:
        return f"yardless ends with {made.returncode}: {made.stderr.strip()}", False
    plan, book = json.loads(made.stdout), load(path, monday, int(weeks))
    breaches, cost = check(book, plan)
    if breaches or cents(plan["cost"]) != cost:
        return f"said to cost {plan['cost']}, costs {cost / 100:.2f}; {'; '.join(breaches)}", False
    program = model.build(book)
    proved = {"CP-SAT": model.cpsat(program, SECONDS)}
    if len(program.cost) <= QUICK or proved["CP-SAT"] is None:
        proved["HiGHS"] = model.highs(program, SECONDS)
    proved = {solver: best for solver, best in proved.items() if best is not None}
    if not proved:
        return f"costs {cost / 100:.2f}, and neither solver proves the least cost", False
    told = ", ".join(f"{solver} proves {best / 100:.2f}" for solver, best in proved.items())
    bound = plan.get("bound")
    right = all(best == cost for best in proved.values()) and (bound is None or cents(bound) <= cost)
    return f"costs {cost / 100:.2f}, bound {bound}; {told}", right


def main(yardless, listed):
    passed = failed = 0
    with open(listed, encoding="utf-8") as lines:
        for line in lines:
            path, monday, weeks = line.split()
            found, right = compare(yardless, path, monday, weeks)
            passed, failed = passed + right, failed + (not right)
            print(f"{'pass' if right else 'FAIL'} {path.rpartition('/')[2]}: {found}", flush=True)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
