"""What both peers share: the book as tests/reference reads it, the clock, and plans, as JSON lines.

A line a better plan: {"seconds": since the start, "bound": dollars or null, "plan": in format 1}; at the end
{"seconds", "bound", "stopped": why}.
"""

import collections
import hashlib
import json
import math
import os
import sys
import threading
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "tests" / "reference"))
from book import cents, load  # noqa: E402


class Race:
    """One book against the clock, which starts here: reading it and building the model count too."""

    def __init__(self, path, monday, weeks, seconds):
        self.started, self.seconds = time.monotonic(), float(seconds)
        # Standard output is for these lines alone, whatever a solver prints there.
        self.out = os.fdopen(os.dup(1), "w", encoding="utf-8")
        os.dup2(2, 1)
        self.best, self.bound, self.ended, self.lock = None, None, False, threading.Lock()
        # A solver may not look at its clock for a while, as in presolve.
        guard = threading.Timer(1.08 * self.seconds, self.end, ["time, and the solver did not end by itself"])
        guard.daemon = True
        guard.start()
        self.digest = hashlib.sha256(Path(path).read_bytes()).hexdigest()
        self.book = load(path, monday, int(weeks))

    def elapsed(self):
        return time.monotonic() - self.started

    def left(self):
        return max(0.01, self.seconds - self.elapsed())

    def say(self, **more):
        bound = None if self.bound is None else self.bound / 100
        print(json.dumps({"seconds": round(self.elapsed(), 3), "bound": bound, **more}), file=self.out, flush=True)

    def note(self, bound):
        """A bound in cents: any cost is whole, and the solver's tolerance is far under half a cent."""
        if math.isfinite(bound):
            self.bound = max(self.bound or 0, math.ceil(bound - 0.5))

    def better(self, *found):
        """Prints the plan (see `written`) where it costs less than every plan before."""
        self.tell(written(self.book, self.digest, *found))

    def tell(self, plan):
        """Prints a plan where it costs less than every plan before."""
        with self.lock:
            if not self.ended and (self.best is None or plan["cost"] < self.best):
                self.best = plan["cost"]
                self.say(plan=plan)

    def end(self, why, **more):
        """Prints the last line and ends the process, whatever the solver still does."""
        with self.lock:
            if not self.ended:
                self.ended = True
                self.say(stopped=why, **more)
                os._exit(0)


def pools(book):
    """The units by pool: alike in all but name and place."""
    alike = collections.defaultdict(list)
    for unit, facts in book.units.items():
        kinds, out = tuple(sorted(facts["kinds"])), tuple(sorted(book.out(unit)))
        alike[kinds, facts["moves"], facts.get("weight_lb", 0), out].append(unit)
    return list(alike.values())


def written(book, digest, steps, parked, hauls, left_out):
    """A plan in format 1: steps (job, step, way, crew, start, end, units), parked {job: units}, left_out [job],
    hauls (half-day, evening, unit, from, to)."""
    ends, crews, costs = collections.defaultdict(list), collections.defaultdict(set), collections.Counter()
    rows = []
    for j, name, way, crew, start, end, units in sorted(steps, key=lambda row: (row[4], row[0], row[1])):
        rows.append(dict(job=j, step=name, way=way, crew=crew, start=book.text(start), end=book.text(end), units=units))
        ends[j].append(end)
        crews[j] |= {crew} if book.crews[crew].get("own", True) else set()
        step = next(step for step in book.jobs[j]["steps"] if step["id"] == name)
        costs["ways"] += cents(next(row["extra"] for row in book.ways(step) if row["id"] == way))
    for j, all_ends in ends.items():
        costs["late"] += book.late_days(book.jobs[j], book.date(max(all_ends))) * book.late_day(book.jobs[j])
        costs["waiting"] += book.wait * max(all_ends) + sum(all_ends)
        costs["crews"] += book.extra_crew * max(0, len(crews[j]) - 1)
    costs["left_out"] = sum(book.left_out(book.jobs[j]) for j in left_out)
    moved = with_trucks(book, hauls)
    costs["hauls"] = sum(book.haul_cost(row["unit"], row["minutes"]) for row in moved)
    terms = ("late", "left_out", "hauls", "crews", "waiting", "ways", "changes", "overtime", "returns")
    return {
        "plan": 1,
        "book_digest": digest,
        "from": str(book.start),
        "weeks": book.weeks,
        "cost": sum(costs.values()) / 100,
        "steps": rows,
        "parked": [dict(job=j, units=units) for j, units in sorted(parked.items())],
        "hauls": moved,
        "left_out": [dict(job=j, why="the solver left it out") for j in left_out],
        "later": [dict(job=j) for j, job in book.jobs.items() if book.later(job)],
        "costs": {term: costs[term] / 100 for term in terms},
    }


def with_trucks(book, hauls):
    """H4: the heaviest first, each by the weakest free truck that can; what pulls a heavy unit pulls a lighter one."""
    trips, rows = collections.Counter(), []
    weight = lambda unit: book.units[unit].get("weight_lb", 0)
    for h, evening, unit, p, q in sorted(hauls, key=lambda haul: (haul[0], -weight(haul[2]), haul[2])):
        towed = book.towed(unit)
        strength = lambda truck: book.trucks[truck].get("tow_lb", 0)
        able = [
            truck
            for truck in book.trucks
            if book.truck_free(truck, h)
            and trips[truck, h, towed] < book.capacity(truck, towed)
            and not (towed and strength(truck) < weight(unit))
        ]
        truck = min(able, key=strength)
        trips[truck, h, towed] += 1
        row = dict(unit=unit, to=q, at=book.text(h), evening=evening, truck=truck, minutes=book.minutes(unit, p, q))
        rows.append(row | {"from": p, "estimate": (p, q) not in book.listed})
    return sorted(rows, key=lambda row: (row["at"], row["evening"], row["unit"]))
