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
    holds = collections.defaultdict(list)  # unit -> [(first, last, place, who, the last in which it may not be out)]
    cost = judge_work(book, plan, holds, say)
    where = {}
    cost += judge_hauls(book, plan, where, say)
    for unit, rows in holds.items():
        rows.sort()
        for first, last, place, who, in_use in rows:
            if any(where[unit][h] != place for h in range(first, last + 1)):
                say(f"E2 {unit}, held by {who}, is not always at {place}")
            # Work that has begun waits for its own units.
            if first != book.now and book.out(unit) & set(range(first, in_use + 1)):
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
    """W1 to W8, W11 to W13, W16, E2, E3 and E5 as far as who serves what; C1, C2, C4 to C6, C10, C11, C14 to C16."""
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
        team = row["crew"], *row.get("with", [])
        if (team[0], *sorted(team[1:], key=[*book.crews].index)) not in book.teams(way):
            say(f"W11 {who} by {team}")
        right, worked = book.runs(job, step, team, way).get(start, (None, []))
        if book.missing(team, worked):
            say(f"W11 {who}: no one of {sorted(book.missing(team, worked))} is ever there")
        if right != end:
            say(f"W3 {who} from {row['start']} ends {row['end']}, not {right and book.text(right)}")
        fixed = step.get("fixed", {})
        if any(field in fixed and fixed[field] != row[field] for field in ("crew", "start", "way")):
            say(f"W8 {who}")
        for h in worked:
            for crew in book.at_work(team, h):
                busy[crew, h].append((who, way, job["place"]))
        if not serve(book, book.wants(step, way, job, start), row["units"]):
            say(f"E2 {who}: {row['units']} do not serve")
        for unit in row["units"]:
            holds[unit].append((start, end, job["place"], who, end))
        cost += cents(way["extra"]) + book.step_late(job, step, end) + book.missed(step, start) + book.help_cost(team, worked)
    for (crew, h), rows in busy.items():
        if not fit(book, crew, [way for _, way, _ in rows]):
            say(f"W4, W13 or W16 {crew} {book.text(h)}: {', '.join(who for who, _, _ in rows)}")
    cost += judge_days(book, busy, say)
    left_out = {row["job"] for row in plan.get("left_out", [])}
    later = {row["job"]: sorted(row.get("steps", [])) for row in plan.get("later", [])}
    for j, job in book.jobs.items():
        in_part = sorted(step["id"] for step in job["steps"] if (j, step["id"]) in book.later_steps) if j not in left_out else []
        if (later.get(j) != in_part if in_part else book.later(job) != (j in later)) or (j in left_out and done[j]):
            say(f"W1, W12 {j}: later or not, done or left out")
        if j in left_out:
            cost += book.left_out(job)
        if book.later(job) or j in left_out:
            continue
        if set(done[j]) != {step["id"] for step in book.planned(job)}:
            say(f"W1, W12 {j} is half done")
            continue
        for k, step in enumerate(job["steps"]):
            if step["id"] not in done[j]:
                continue
            for other, before, wait, within in book.links(job, k):
                start, end = done[j][step["id"]][0], done[other].get(before, (0, book.H))[1]
                if start < end + 1 + wait or (within is not None and start > end + 1 + within):
                    say(f"W6 {j}/{step['id']} after {other}/{before}")
        first, last = min(row[0] for row in done[j].values()), max(row[1] for row in done[j].values())
        rows, needs = [row["units"] for row in plan.get("parked", []) if row["job"] == j], book.parked_needs(job)
        if any("from" in need or "to" in need for need in job.get("parked", [])):
            if len(rows) != len(needs):
                say(f"E7 {j} has {len(rows)} rows of what is parked")
            of_rows = [([kind] * count, units, since, until) for (_, kind, count, since, until), units in zip(needs, rows)]
        else:
            of_rows = [(book.parked(job), sum(rows, []), None, None)]
        for wants, units, since, until in of_rows:
            if not serve(book, wants, units):
                say(f"E3 {j}: {units} do not serve")
            begin = done[j][since][0] if since else first
            # Held on, it may be out once what is planned is over (E7).
            if book.parked_on(job, until):
                end, in_use = book.H - 1, last
            else:
                end = in_use = done[j][until][1] if until else last
            for unit in units:
                holds[unit].append((begin, end, job["place"], j, in_use))
        own = {crew for _, _, crew in done[j].values() if book.crews[crew].get("own", True)}
        cost += book.end_cost(job, last) + sum(row[1] for row in done[j].values())
        cost += book.extra_crew * max(0, len(own) - 1) + book.open_half_day * sum(book.works[first : last + 1])
    return cost


def fit(book, crew, ways):
    """W4, W13, W16: whether a crew does all of these in a half-day."""
    if book.at_once(crew):
        return len(ways) <= book.at_once(crew)
    stops = [book.takes_of_half_day(way) for way in ways if "hours" in way]
    return len(ways) == 1 or (len(stops) == len(ways) and sum(stops) <= book.half_day())


def judge_days(book, busy, say):
    """C14, C15."""
    cost = 0
    for crew in book.crews:
        for week in book.weeks_charged():
            most = book.may_work(crew, week)
            worked = sum(bool(busy.get((crew, h))) for h in week)
            cost += book.reserve_half_day * (max(0, worked - most) if most is not None else 0)
        for am in range(0, book.H, 2) if book.home(crew) else ():
            rows = [busy.get((crew, h), []) for h in (am, am + 1)]
            at = [next((place for _, way, place in half if "hours" not in way), None) for half in rows]
            driven = book.round_cost(crew, *at)
            if driven is None:
                say(f"C15 {crew} {book.date(am)}: {at} from {book.home(crew)}")
            cost += driven or 0
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


def places_over(book, plan):
    """C18: the last half-day of the work at each place to be cleared where all that is done there ends, and some is."""
    ends, over = collections.defaultdict(list), {}
    for row in plan["steps"]:
        ends[row["job"]].append(book.index(row["end"]))
    for place, jobs in book.sites():
        open_ended = [job for job in jobs if book.started(job) and len(ends[job["id"]]) < len(job["steps"])]
        lasts = [max(ends[job["id"]]) for job in jobs if ends[job["id"]]]
        if lasts and not open_ended:
            over[place] = max(lasts)
    return over


def judge_hauls(book, plan, where, say):
    """H1 to H5 and E1; fills where each unit stands in each half-day, None on the road. C3, C12, C13, C17, C18."""
    cost, hauls, trips, over = 0, {}, collections.Counter(), places_over(book, plan)
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
        at, coming, where[unit], last = facts["place"], None, [], facts["place"]
        for h in range(book.H):
            stood, at, coming = (None, coming, None) if coming else (at, at, None)
            if h in book.dawns():
                cost += book.home_late(unit, at, h)
                if book.towed(unit) and at in over and over[at] < book.ended_before(at, h):
                    cost += book.late_price(book.places[at]["clear_by"])
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
                if book.unfit(row["truck"], unit):
                    say(f"{book.unfit(row['truck'], unit)}: {unit} by {row['truck']}")
                if book.too_heavy(row["truck"], unit, p, q, h):
                    say(f"H8 {unit} by {row['truck']} {row['at']}: over a posted weight")
                cost += book.haul_cost(unit, minutes)
                if evening or minutes > book.same:
                    at, coming = (at if evening else None), q
                else:
                    at = q
            where[unit].append(at)
            # On the road it costs what the place costs that it left.
            last = at or last
            cost += book.standing(unit, last, h, at is None)
    return cost


if __name__ == "__main__":
    with open(sys.argv[2], encoding="utf-8") as file:
        given = json.load(file)
    found, total = check(load(sys.argv[1], given["from"], given["weeks"]), given)
    if cents(given["cost"]) != total:
        found.append(f"cost said {given['cost']}, is {total / 100}")
    print("\n".join(found) or f"holds at {total / 100:.2f}")
    sys.exit(bool(found))
