"""Every run of a step from now on: in one go or in two spans, in overtime or not, or as history has it (W3, W8 to W10, W14,
N1)."""

import collections
import itertools

from book import cents

# part: whole, first or second (span); rest: what a first span leaves, and a second one does; units: known ones, held from
# now on, where the step is in progress; cost: C6, C8 and C9 in cents.
Run = collections.namedtuple("Run", "crew start end worked wants units part rest cost")


def runs_of(book, job, step):
    if "done" in step:
        row = step["done"]
        way = way_of(book, step, row)
        return [Run(row["crew"], book.index(row["start"]), book.index(row["end"]), [], (), [], "whole", None, cents(way["extra"]))]
    if "progress" in step:
        first = list(going_on(book, job, step))
    else:
        first = list(beginning(book, job, step))
    return first + list(coming_back(book, job, step, {run.rest for run in first} - {None}))


def way_of(book, step, row):
    ways = book.ways(step)
    return next(way for way in ways if way["id"] == row["way"]) if "way" in row else ways[0]


def may_split(step):
    return step.get("may_split", False)


def beginning(book, job, step):
    fixed = step.get("fixed", {})
    for way, crew, start in itertools.product(book.ways(step), book.crews, range(book.now, book.H)):
        as_fixed = (
            fixed.get("crew", crew) == crew
            and fixed.get("way", way["id"]) == way["id"]
            and fixed.get("start", book.text(start)) == book.text(start)
        )
        if step["skill"] not in book.crews[crew]["skills"] or not as_fixed or not book.may_start(job, step, start):
            continue
        for overtime in (False, True):
            if book.workable(job, step, crew, way, start, overtime):
                wants = wants_of(book, job, step, way, start)
                for worked, part, rest, cost in spans(book, job, step, way, crew, start, book.takes(way), overtime):
                    yield Run(crew, start, worked[-1], worked, wants, None, part, rest, cost + cents(way["extra"]))


def going_on(book, job, step):
    row = step["progress"]
    way, crew, units = way_of(book, step, row), row["crew"], row.get("units", [])
    extra = cents(way["extra"])
    if book.away(job, step, way):
        # It was left before now: the half-day between the spans has been.
        yield Run(crew, book.now - 2, book.now - 2, [], (), [], "first", rest_of(crew, way, row["left"]), extra)
        return
    for overtime in (False, True):
        for worked, part, rest, cost in spans(book, job, step, way, crew, book.now, row["left"], overtime):
            yield Run(crew, book.now, worked[-1], worked, (), units, part, rest, cost + extra)
    if may_split(step):
        # Its units go now; it was worked in the half-day before, as far as anyone knows.
        rest = rest_of(crew, way, row["left"])
        yield Run(crew, book.now - 1, book.now - 1, [], (), [], "first", rest, extra)


def coming_back(book, job, step, rests):
    for rest in rests:
        crew, way_id, left = rest
        way = next(way for way in book.ways(step) if way["id"] == way_id)
        for start, overtime in itertools.product(range(book.now, book.H), (False, True)):
            if book.workable(job, step, crew, way, start, overtime):
                worked, _, enough = book.spell(job, step, crew, way, start, left / 10**6, overtime)
                cost = overtime_cost(book, worked, overtime)
                if enough and cost is not None:
                    wants = wants_of(book, job, step, way, start)
                    yield Run(crew, start, worked[-1], worked, wants, None, "second", rest, cost + book.come_back)


def spans(book, job, step, way, crew, first, left, overtime):
    """(half-days worked, part, rest, C8) of all that is left, and of each first span."""
    worked, lefts, enough = book.spell(job, step, crew, way, first, left, overtime)
    for n in range(1, len(worked) + 1):
        whole = enough and n == len(worked)
        cost = overtime_cost(book, worked[:n], overtime)
        if cost is None or not (whole or may_split(step)):
            continue
        if whole:
            yield worked[:n], "whole", None, cost
        else:
            yield worked[:n], "first", rest_of(crew, way, lefts[n - 1]), cost


def overtime_cost(book, worked, overtime):
    """C8; None for a row that says overtime and works none, which another row says shorter."""
    n = sum(book.overtime[h] for h in worked)
    return None if overtime and n == 0 else n * book.overtime_half_day


def rest_of(crew, way, left):
    return crew, way["id"], round(left * 10**6)


def wants_of(book, job, step, way, start):
    return tuple(sorted(book.wants(step, way, job, start), key=str))
