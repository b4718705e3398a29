"""Jobs, steps and crews for the CP-SAT peer: rules T, W1 to W8, C1, C2 and C4 to C6, and the holds of E2, E3 and E5."""

import bisect
import collections
import itertools

from ortools.sat.python import cp_model

from plans import cents, pools

# What a step may be: by this crew in this way, from one of these starts, working so many half-days after so many, ...
Choice = collections.namedtuple("Choice", "way crew starts stretches")

# A hold that may be made (lit) over a span; who holds: job and step, the step None where the job parks.
Stop = collections.namedtuple("Stop", "lit span place job step")

# From one half-day to another, both included.
Span = collections.namedtuple("Span", "start end length")


class Work:
    """Time is the half-days that the shop works, by number: nothing starts, ends or is hauled in others."""

    def __init__(self, book):
        self.book, self.model, self.costs = book, cp_model.CpModel(), []
        self.halves = [h for h in range(book.H) if book.works[h]]
        self.number = {h: n for n, h in enumerate(self.halves)}
        wanted = {j: job for j, job in book.jobs.items() if not book.later(job)}
        self.choices = self.all_choices(wanted)
        self.jobs = {j: job for j, job in wanted.items() if j in self.choices}
        self.hopeless = [j for j in wanted if j not in self.jobs]
        self.costs += [book.left_out(book.jobs[j]) for j in self.hopeless]
        self.pools, self.stops = pools(book), collections.defaultdict(list)
        self.done = {j: self.model.new_bool_var(f"done {j}") for j in self.jobs}
        self.spans, self.idle, self.taken, self.at_work = {}, {}, {}, collections.defaultdict(list)
        for j, job in self.jobs.items():
            for step in job["steps"]:
                self.plan_step(j, job, step)
            self.plan_job(j, job)
        for j, job in self.jobs.items():
            self.keep_order(j, job)
        for intervals in self.at_work.values():
            self.model.add_no_overlap(intervals)

    def all_choices(self, jobs):
        """job -> step -> choices, for the jobs that have some for every step, as have those that they come after."""
        choices = {j: {step["id"]: self.step_choices(job, step) for step in job["steps"]} for j, job in jobs.items()}
        while True:
            lost = {j for j in choices if not self.can_be_done(jobs[j], choices)}
            if not lost:
                return choices
            choices = {j: steps for j, steps in choices.items() if j not in lost}

    def can_be_done(self, job, choices):
        links = itertools.chain(*(self.book.links(job, k) for k in range(len(job["steps"]))))
        return all(choices[job["id"]].values()) and all(other in choices for other, *_ in links)

    def step_choices(self, job, step):
        """W2, W3, W5, W8: runs that differ in their start only are one choice."""
        book, fixed, choices = self.book, step.get("fixed", {}), []
        for way, crew in itertools.product(book.ways(step), book.crews):
            able = step["skill"] in book.crews[crew]["skills"]
            if not able or fixed.get("crew", crew) != crew or fixed.get("way", way["id"]) != way["id"]:
                continue
            alike = collections.defaultdict(list)
            for start, (end, worked) in book.runs(job, step, (crew,), way).items():
                if fixed.get("start", book.text(start)) == book.text(start):
                    alike[self.stretches(crew, start, end, set(worked))].append(self.number[start])
            choices += [Choice(way, crew, starts, stretches) for stretches, starts in alike.items()]
        return choices

    def stretches(self, crew, start, end, worked):
        """W4: (first, after) of each stretch of work, from the start; the crew may work elsewhere in between."""
        there = [h for h in range(start, end + 1) if self.book.people[crew][h] > 0]
        found = []
        for works, halves in itertools.groupby(there, lambda h: h in worked):
            numbers = [self.number[h] - self.number[start] for h in halves]
            found += [(numbers[0], numbers[-1] + 1)] if works else []
        return tuple(found)

    def plan_step(self, j, job, step):
        model, choices, name = self.model, self.choices[j][step["id"]], (j, step["id"])
        span, self.idle[name] = self.step_span(j, choices)
        self.spans[name], self.taken[name] = span, []
        for choice in choices:
            lit = model.new_bool_var("")
            self.taken[name].append((lit, choice))
            model.add_linear_expression_in_domain(span.start, numbers(choice.starts)).only_enforce_if(lit)
            model.add(span.length == choice.stretches[-1][1]).only_enforce_if(lit)
            for first, after in choice.stretches:
                work = model.new_optional_fixed_size_interval_var(span.start + first, after - first, lit, "")
                self.at_work[choice.crew].append(work)
            self.costs.append(cents(choice.way["extra"]) * lit)
        model.add(sum(lit for lit, _ in self.taken[name]) == self.done[j])
        self.pay(span.end, self.halves, self.idle[name], j)
        wanted = collections.defaultdict(list)
        for lit, choice in self.taken[name]:
            for kind, count in collections.Counter(self.book.wants({}, choice.way, job, 0)).items():
                wanted[kind].append((count, lit))
        for kind, terms in wanted.items():
            most = max(count for count, _ in terms)
            self.hold(kind, sum(count * lit for count, lit in terms), most, span, name)
        self.hold_power(job, step, span, name)

    def step_span(self, j, choices):
        """When the step is done; a step left out stands at its earliest start. Also the end of that."""
        model = self.model
        lengths = sorted({choice.stretches[-1][1] for choice in choices})
        start = model.new_int_var_from_domain(numbers(n for choice in choices for n in choice.starts), "")
        first = min((min(choice.starts), choice.stretches[-1][1]) for choice in choices)
        model.add(start == first[0]).only_enforce_if(~self.done[j])
        if len(lengths) == 1:
            return Span(start, start + lengths[0] - 1, lengths[0]), sum(first) - 1
        length = model.new_int_var_from_domain(numbers(lengths), "")
        model.add(length == first[1]).only_enforce_if(~self.done[j])
        end = self.time()
        model.add(end == start + length - 1)
        return Span(start, end, length), sum(first) - 1

    def hold_power(self, job, step, span, name):
        """E5: where it starts early there is no power."""
        dark = [n for n, h in enumerate(self.halves) if None in self.book.wants(step, {}, job, h)]
        if dark:
            early, power = self.model.new_bool_var(""), self.model.new_bool_var("")
            self.model.add(span.start <= dark[-1]).only_enforce_if(early)
            self.model.add(span.start > dark[-1]).only_enforce_if(~early)
            self.model.add_min_equality(power, [early, self.done[name[0]]])
            self.hold(None, power, 1, span, name)

    def plan_job(self, j, job):
        book, model, steps = self.book, self.model, range(len(job["steps"]))
        inside = [[name for other, name, *_ in book.links(job, k) if other == j] for k in steps]
        ids = [step["id"] for step in job["steps"]]
        last = [(j, name) for name in ids if name not in itertools.chain(*inside)]
        end = self.extreme([self.spans[name].end for name in last], model.add_max_equality)
        idle = max(self.idle[name] for name in last)
        self.pay(end, [book.end_cost(job, h) for h in self.halves], idle, j)
        self.costs.append(book.left_out(job) * ~self.done[j])
        if book.parked(job):
            start = self.extreme([self.spans[j, ids[k]].start for k in steps if not inside[k]], model.add_min_equality)
            length = self.time()
            model.add(length == end + 1 - start).only_enforce_if(self.done[j])
            model.add(length == 0).only_enforce_if(~self.done[j])
            for kind, count in collections.Counter(book.parked(job)).items():
                self.hold(kind, count * self.done[j], count, Span(start, end, length), (j, None))
        crews = collections.defaultdict(list)
        for lit, choice in itertools.chain(*(self.taken[j, name] for name in ids)):
            if book.crews[choice.crew].get("own", True):
                crews[choice.crew].append(lit)
        if len(crews) > 1:
            used = [model.new_bool_var("") for _ in crews]
            for on_job, lits in zip(used, crews.values()):
                for lit in lits:
                    model.add_implication(lit, on_job)
            more = model.new_int_var(0, len(crews) - 1, "")
            model.add(more >= sum(used) - 1)
            self.costs.append(book.extra_crew * more)

    def hold(self, want, amount, most, span, name):
        """E2, E3, E5: so many units that serve the want, of whatever pools; stops alike are taken in order."""
        serving = []
        for pool, units in enumerate(self.pools):
            if self.book.serves(units[0], want):
                lits = [self.model.new_bool_var("") for _ in units[:most]]
                for lit, following in itertools.pairwise(lits):
                    self.model.add_implication(following, lit)
                self.stops[pool] += [Stop(lit, span, self.jobs[name[0]]["place"], *name) for lit in lits]
                serving += lits
        self.model.add(sum(serving) == amount)

    def keep_order(self, j, job):
        """W6, where nights and days off count."""
        for k, step in enumerate(job["steps"]):
            start = self.spans[j, step["id"]].start
            for other, name, wait, within in self.book.links(job, k):
                end = self.spans[other, name].end
                self.model.add(start >= (self.by(end, wait) if wait else end + 1)).only_enforce_if(self.done[j])
                if within is not None:
                    self.model.add(start < self.by(end, within + 1)).only_enforce_if(self.done[j])
                if other != j:
                    self.model.add_implication(self.done[j], self.done[other])

    def by(self, end, wait):
        """The number of the first half-day worked that many half-days after the end, or later."""
        found = self.time()
        table = [bisect.bisect_left(self.halves, h + 1 + wait) for h in self.halves]
        self.model.add_element(end, table, found)
        return found

    def pay(self, end, prices, idle, j):
        """A price by half-day; what a job left out seems to pay is taken back."""
        cost = self.model.new_int_var(min(prices), max(prices), "")
        self.model.add_element(end, prices, cost)
        self.costs += [cost, -prices[idle] * ~self.done[j]]

    def extreme(self, times, among):
        if len(times) == 1:
            return times[0]
        found = self.time()
        among(found, times)
        return found

    def time(self):
        return self.model.new_int_var(0, len(self.halves), "")


def numbers(values):
    return cp_model.Domain.from_values(list(values))
