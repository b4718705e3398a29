"""Every run of a step from now on: with helpers or without, in one go or in two spans, in overtime or not, or as history has
it (W3, W8 to W11, W14, W16, N1)."""

import collections
import itertools

from book import cents

# team: the crew and its helpers; work: (crew, half-day) of each of them that works; stop: what it takes of its half-day, None
# where it is no stop; part: whole, first or second (span); rest: what a first span leaves, and a second one does; units: known
# ones, held from now on, where the step is in progress; cost: C6, C8, C9 and C11 in cents, C8 not of what may share a half-day;
# way: its id, of what begins from now on.
class Run(collections.namedtuple("Run", "team start end work stop wants units part rest cost way", defaults=[None])):
    __slots__ = ()

    @property
    def crew(self):
        return self.team[0]


def runs_of(book, job, step):
    if "done" in step:
        row = step["done"]
        way = way_of(book, step, row)
        return [Run(team_of(row), book.index(row["start"]), book.index(row["end"]), [], None, (), [], "whole", None, cents(way["extra"]))]
    if "progress" in step:
        first = list(going_on(book, job, step))
    else:
        first = list(beginning(book, job, step))
    return first + list(coming_back(book, job, step, {run.rest for run in first} - {None}))


def way_of(book, step, row):
    ways = book.ways(step)
    return next(way for way in ways if way["id"] == row["way"]) if "way" in row else ways[0]


def team_of(row):
    return row["crew"], *row.get("with", [])


def may_split(step, way):
    return step.get("may_split", False) and "hours" not in way


def paces(book):
    """Without overtime, and with it where there is any."""
    return (False, True) if any(book.overtime) else (False,)


def beginning(book, job, step):
    fixed = step.get("fixed", {})
    who = [(way, team) for way in book.ways(step) for team in book.teams(way)]
    for (way, team), start in itertools.product(who, range(book.now, book.H)):
        crew = team[0]
        as_fixed = (
            fixed.get("crew", crew) == crew
            and fixed.get("way", way["id"]) == way["id"]
            and fixed.get("start", book.text(start)) == book.text(start)
        )
        if step["skill"] not in book.crews[crew]["skills"] or not as_fixed or not book.may_start(job, step, start):
            continue
        for overtime in paces(book):
            if book.workable(job, step, team, way, start, overtime):
                wants = wants_of(book, job, step, way, start)
                for worked, part, rest, cost in spans(book, job, step, way, team, start, book.takes(way), overtime):
                    work = work_of(book, team, worked, overtime)
                    all_costs = cost + cents(way["extra"])
                    yield Run(team, start, worked[-1], work, stop_of(book, way), wants, None, part, rest, all_costs, way["id"])


def going_on(book, job, step):
    row = step["progress"]
    way, team, units = way_of(book, step, row), team_of(row), row.get("units", [])
    extra = cents(way["extra"])
    if book.away(job, step, way):
        # It was left before now: the half-day between the spans has been.
        yield Run(team, book.now - 2, book.now - 2, [], None, (), [], "first", rest_of(team, way, row["left"]), extra)
        return
    for overtime in paces(book):
        for worked, part, rest, cost in spans(book, job, step, way, team, book.now, row["left"], overtime):
            work = work_of(book, team, worked, overtime)
            yield Run(team, book.now, worked[-1], work, None, (), units, part, rest, cost + extra)
    if may_split(step, way):
        # Its units go now; it was worked in the half-day before, as far as anyone knows.
        rest = rest_of(team, way, row["left"])
        yield Run(team, book.now - 1, book.now - 1, [], None, (), [], "first", rest, extra)


def coming_back(book, job, step, rests):
    for rest in rests:
        team, way_id, left, missing = rest
        way = next(way for way in book.ways(step) if way["id"] == way_id)
        for start, overtime in itertools.product(range(book.now, book.H), paces(book)):
            if book.workable(job, step, team, way, start, overtime):
                worked, _, enough = book.spell(job, step, team, way, start, left / 10**6, overtime)
                cost = cost_of(book, team, way, worked, overtime)
                if enough and cost is not None and not missing & book.missing(team, worked, overtime):
                    wants, work = wants_of(book, job, step, way, start), work_of(book, team, worked, overtime)
                    yield Run(team, start, worked[-1], work, None, wants, None, "second", rest, cost + book.come_back)


def spans(book, job, step, way, team, first, left, overtime):
    """(half-days worked, part, rest, C8 and C11) of all that is left, and of each first span."""
    worked, lefts, enough = book.spell(job, step, team, way, first, left, overtime)
    for n in range(1, len(worked) + 1):
        whole = enough and n == len(worked)
        cost = cost_of(book, team, way, worked[:n], overtime)
        # What has begun has had its helpers.
        missing = frozenset() if "progress" in step else book.missing(team, worked[:n], overtime)
        if cost is None or (missing if whole else not may_split(step, way)):
            continue
        if whole:
            yield worked[:n], "whole", None, cost
        else:
            yield worked[:n], "first", rest_of(team, way, lefts[n - 1], missing), cost


def cost_of(book, team, way, worked, overtime):
    """C8 and C11; None for a row that says overtime and works none, which another row says shorter. C8 of a crew that may do
    several in a half-day is the model's."""
    over = [h for h in worked if book.overtime[h]]
    if overtime and not over:
        return None
    alone = "hours" not in way and book.at_once(team[0]) is None
    paid = sum(len(book.at_work(team, h, True)) for h in over) if alone else 0
    return paid * book.overtime_half_day + book.help_cost(team, worked, overtime)


def work_of(book, team, worked, overtime):
    return [(crew, h) for h in worked for crew in book.at_work(team, h, overtime)]


def stop_of(book, way):
    return book.takes_of_half_day(way) if "hours" in way else None


def rest_of(team, way, left, missing=frozenset()):
    """Of the helpers `missing` nobody has been there yet."""
    return team, way["id"], round(left * 10**6), missing


def wants_of(book, job, step, way, start):
    return tuple(sorted(book.wants(step, way, job, start), key=str))
