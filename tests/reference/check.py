"""Checks a plan against its book, rule by rule, and adds up its cost; prints every breach, exit 0 when the plan holds.

check.py BOOK PLAN
"""

import collections
import json
import sys

from book import cents, load


def check(book, plan):
    """Every breach, and the cost in cents."""
    breaches = []
    say = breaches.append
    holds = collections.defaultdict(list)  # unit -> [(first, last, place, who)]
    cost = judge_work(book, plan, holds, say)
    where = {}
    cost += judge_hauls(book, plan, where, say)
    for unit, rows in holds.items():
        rows.sort()
        for first, last, place, who in rows:
            if any(where[unit][h] != place for h in range(first, last + 1)):
                say(f"E2 {unit}, held by {who}, is not always at {place}")
            # Work that has begun waits for its own units.
            if first != book.now and book.out(unit) & set(range(first, last + 1)):
                say(f"E4 {unit}, held by {who}, is out")
        for a, b in zip(rows, rows[1:]):
            if b[0] <= a[1] and not book.shared(unit):
                say(f"E2 {unit} is held by {a[3]} and {b[3]} at once")
    for place, facts in book.places.items():
        for h in range(book.H):
            towed = sum(book.towed(unit) and where[unit][h] == place for unit in book.units)
            if towed > facts.get("trailer_spots", towed):
                say(f"E6 {place} {book.text(h)}: {towed} trailers")
    return breaches, cost


def judge_work(book, plan, holds, say):
    """W1 to W8, E2, E3 and E5 as far as who serves what; C1, C2, C4 to C6, C10."""
    cost, done, busy = 0, collections.defaultdict(dict), collections.defaultdict(list)
    for row in plan["steps"]:
        job, who = book.jobs[row["job"]], f"{row['job']}/{row['step']}"
        step = next(step for step in job["steps"] if step["id"] == row["step"])
        way = next((way for way in book.ways(step) if way["id"] == row["way"]), None)
        start, end = book.index(row["start"]), book.index(row["end"])
        if way is None or row["step"] in done[row["job"]]:
            say(f"W1 {who}: done twice or in no way of its own")
            continue
        done[row["job"]][row["step"]] = (start, end, row["crew"])
        if step["skill"] not in book.crews[row["crew"]]["skills"]:
            say(f"W5 {who} by {row['crew']}")
        right, worked = book.runs(job, step, row["crew"], way).get(start, (None, []))
        if right != end:
            say(f"W3 {who} from {row['start']} ends {row['end']}, not {right and book.text(right)}")
        fixed = step.get("fixed", {})
        if any(field in fixed and fixed[field] != row[field] for field in ("crew", "start", "way")):
            say(f"W8 {who}")
        busy[row["crew"]] += worked
        if not serve(book, book.wants(step, way, job, start), row["units"]):
            say(f"E2 {who}: {row['units']} do not serve")
        for unit in row["units"]:
            holds[unit].append((start, end, job["place"], who))
        cost += cents(way["extra"]) + book.step_late(job, step, end) + book.missed(step, start)
    for crew, halves in busy.items():
        if len(set(halves)) < len(halves):
            say(f"W4 {crew} works on two steps at once")
    left_out, later = ({row["job"] for row in plan.get(rows, [])} for rows in ("left_out", "later"))
    for j, job in book.jobs.items():
        if book.later(job) != (j in later) or (j in left_out and done[j]):
            say(f"W1 {j}: later or not, done or left out")
        if j in left_out:
            cost += book.left_out(job)
        if book.later(job) or j in left_out:
            continue
        if len(done[j]) != len(job["steps"]):
            say(f"W1 {j} is half done")
            continue
        for k, step in enumerate(job["steps"]):
            for other, before, wait, within in book.links(job, k):
                start, end = done[j][step["id"]][0], done[other].get(before, (0, book.H))[1]
                if start < end + 1 + wait or (within is not None and start > end + 1 + within):
                    say(f"W6 {j}/{step['id']} after {other}/{before}")
        first, last = min(row[0] for row in done[j].values()), max(row[1] for row in done[j].values())
        rows, needs = [row["units"] for row in plan.get("parked", []) if row["job"] == j], book.parked(job)
        if any(since or until for *_, since, until in needs):
            if len(rows) != len(needs):
                say(f"E7 {j} has {len(rows)} rows of what is parked")
            spans = [(done[j][a][0] if a else first, done[j][b][1] if b else last) for *_, a, b in needs]
            of_rows = [([kind] * count, units, span) for (_, kind, count, *_), units, span in zip(needs, rows, spans)]
        else:
            wants = book.units_of([{"kind": kind, "count": count} for _, kind, count, *_ in needs])
            of_rows = [(wants, sum(rows, []), (first, last))]
        for wants, units, span in of_rows:
            if not serve(book, wants, units):
                say(f"E3 {j}: {units} do not serve")
            for unit in units:
                holds[unit].append((*span, job["place"], j))
        own = {crew for _, _, crew in done[j].values() if book.crews[crew].get("own", True)}
        cost += book.end_cost(job, last) + sum(row[1] for row in done[j].values())
        cost += book.extra_crew * max(0, len(own) - 1)
    return cost


def serve(book, wants, units):
    """Whether just these units serve just these wants, one each; shared ones as many as there are, one want of a kind (E8)."""
    if len(set(units)) != len(units):
        return False

    def rest(wants, serving):
        if not wants:
            return all(serving[unit] for unit in units)
        free = lambda unit: not serving[unit] or (book.shared(unit) and wants[0] not in serving[unit])
        able = [unit for unit in units if free(unit) and book.serves(unit, wants[0])]
        return any(rest(wants[1:], {**serving, unit: [*serving[unit], wants[0]]}) for unit in able)

    return rest(wants, {unit: [] for unit in units})


def judge_hauls(book, plan, where, say):
    """H1 to H5 and E1; fills where each unit stands in each half-day, None on the road. C3."""
    cost, hauls, trips = 0, {}, collections.Counter()
    for row in plan["hauls"]:
        key = row["unit"], book.index(row["at"])
        if key in hauls or not 0 <= key[1] < book.H:
            say(f"H1 {row['unit']} is hauled twice, or outside the horizon, at {row['at']}")
        hauls[key] = row
        trips[row["truck"], key[1], book.towed(row["unit"])] += 1
    for (truck, h, towed), n in trips.items():
        if n > book.capacity(truck, towed) or not book.truck_free(truck, h):
            say(f"H4 {truck} makes {n} hauls at {book.text(h)}")
    for unit, facts in book.units.items():
        at, coming, where[unit] = facts["place"], None, []
        for h in range(book.H):
            stood, at, coming = (None, coming, None) if coming else (at, at, None)
            row = hauls.get((unit, h))
            if row:
                p, q, evening = row["from"], row["to"], row.get("evening", False)
                minutes = book.minutes(unit, p, q)
                if minutes is None or minutes != row["minutes"]:
                    say(f"H5 {unit} {row['at']}: {minutes} minutes")
                    continue
                if p == q or p != (at if evening else stood):
                    say(f"H1 {unit} {row['at']} does not stand at {p}")
                if evening and (h % 2 == 0 or minutes > book.same):
                    say(f"H1 {unit} {row['at']} cannot be in the evening")
                if not book.can_haul(unit, p, q, h):
                    say(f"H2, H3 or E4 {unit} {row['at']} {p} to {q}")
                if book.towed(unit) and book.trucks[row["truck"]].get("tow_lb", 0) < facts.get("weight_lb", 0):
                    say(f"H4 {row['truck']} is too weak for {unit}")
                cost += book.haul_cost(unit, minutes)
                if evening or minutes > book.same:
                    at, coming = (at if evening else None), q
                else:
                    at = q
            where[unit].append(at)
    return cost


if __name__ == "__main__":
    with open(sys.argv[2], encoding="utf-8") as file:
        given = json.load(file)
    found, total = check(load(sys.argv[1], given["from"], given["weeks"]), given)
    if cents(given["cost"]) != total:
        found.append(f"cost said {given['cost']}, is {total / 100}")
    print("\n".join(found) or f"holds at {total / 100:.2f}")
    sys.exit(bool(found))
