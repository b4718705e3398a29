//! A stored plan as a draft, from now on: what the book says has happened since is as the book says (N1), the rest as the
//! plan has it.

use std::collections::BTreeMap;

use yardless_book::half_day::HalfDay;

use crate::draft::{Done, Draft, Haul, Return};
use crate::shop::{CrewId, Id, JobFacts, Need, ParkedUnit, Part, Shop, StepId, Team, TeamId, UnitId, Want, share_out};
use crate::{HaulRow, ParkedRow, Plan, StepRow};

/// A stored plan as a draft, as far as the shop knows what it names; what is outside the horizon, or before now, is left
/// away. A step in progress goes on from now until what is left of it is done, a job that has begun keeps the units that
/// the book names, and one that is over keeps none.
pub fn read(shop: &Shop, plan: &Plan) -> Draft {
    let mut draft = Draft::empty(shop);
    let planned = |half_day| shop.horizon.index(half_day).filter(|h| *h >= shop.now);
    let mut rows: BTreeMap<(&str, &str), Vec<&StepRow>> = BTreeMap::new();
    for row in &plan.steps {
        rows.entry((&row.job, &row.step)).or_default().push(row);
    }
    for (step, facts) in shop.steps.pairs().filter(|(step, _)| !shop.is_later(*step)) {
        let rows = rows.get(&(shop.jobs[facts.job].id.as_str(), facts.id.as_str()));
        draft.steps[step] = rows.and_then(|rows| Stored::new(shop, step, rows).done());
    }
    for (job, facts) in shop.jobs.pairs().filter(|(_, facts)| facts.planned()) {
        draft.parked[job] = parked(shop, facts, plan);
    }
    let place = |id: &str| shop.find_place(id);
    let haul = |row: &HaulRow| {
        Some(Haul {
            unit: shop.find_unit(&row.unit)?,
            from: place(&row.from)?,
            to: place(&row.to)?,
            at: planned(row.at)?,
            evening: row.evening,
            truck: shop.find_truck(&row.truck)?,
        })
    };
    draft.hauls = plan.hauls.iter().filter_map(haul).collect();
    draft
}

/// What is parked at a job: the units that the book names where it holds them now, else those of the plan. Of a row that is
/// for several needs each serves one that it can.
fn parked(shop: &Shop, facts: &JobFacts, plan: &Plan) -> Vec<ParkedUnit> {
    let rows: Vec<&ParkedRow> = plan.parked.iter().filter(|row| row.job == facts.id).collect();
    let mut parked = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    for (n, need) in facts.parked.iter().enumerate() {
        match need.need.want {
            Want::Unit(unit) => parked.push(ParkedUnit { need: n, unit }),
            _ => open.push(n),
        }
    }
    let written = shop.find_job(&facts.id).map_or(0, |job| shop.book.jobs[job.index()].parked.len());
    let mut listed: Vec<usize> = facts.parked.iter().map(|need| need.listed).collect();
    listed.dedup();
    // The row of a need, where there is one for each.
    let row = |need: usize| {
        let place = facts.parked[need].listed;
        if rows.len() == written { Some(place) } else { listed.iter().position(|of| *of == place) }
    };
    if facts.parks_apart && (rows.len() == written || rows.len() == listed.len()) {
        for need in open {
            let named = row(need).and_then(|row| rows.get(row)).map_or_else(Vec::new, |row| units(shop, &row.units));
            parked.extend(named.into_iter().map(|unit| ParkedUnit { need, unit }));
        }
        return parked;
    }
    let named = rows.last().map_or_else(Vec::new, |row| units(shop, &row.units));
    let needs: Vec<Need> = open.iter().map(|need| facts.parked[*need].need).collect();
    let shared = share_out(shop, &needs, &named).unwrap_or_default();
    let serves = |unit: &UnitId| -> Vec<usize> {
        open.iter().zip(&shared).filter(|(_, units)| units.contains(unit)).map(|(need, _)| *need).collect()
    };
    for unit in named.into_iter().filter(|_| !facts.started || !open.is_empty()) {
        let mut of = serves(&unit);
        if of.is_empty() {
            // One that serves nothing is in the plan all the same.
            of.push(open.first().copied().unwrap_or(0));
        }
        parked.extend(of.into_iter().map(|need| ParkedUnit { need, unit }));
    }
    parked
}

fn units(shop: &Shop, ids: &[String]) -> Vec<UnitId> {
    ids.iter().filter_map(|id| shop.find_unit(id)).collect()
}

/// The rows of a step in a stored plan: one, or two spans.
struct Stored<'s> {
    shop: &'s Shop,
    step: StepId,
    first: Option<&'s StepRow>,
    second: Option<&'s StepRow>,
}

impl<'s> Stored<'s> {
    fn new(shop: &'s Shop, step: StepId, rows: &[&'s StepRow]) -> Self {
        let facts = &shop.steps[step];
        let of = |span: u32| rows.iter().copied().find(|row| row.span == span);
        let (mut first, mut second) = (of(1), of(2).filter(|_| facts.may_split));
        let begun = |row: &StepRow| shop.horizon.offset(row.start) < shop.now as i64;
        // The first span is over: the second is all there is, to come or under way.
        if second.is_some_and(|row| facts.comes_back() || facts.goes_on() && begun(row)) {
            first = second.take();
        }
        Self { shop, step, first, second }
    }

    fn done(&self) -> Option<Done> {
        let facts = &self.shop.steps[self.step];
        if facts.goes_on() {
            self.going()
        } else if facts.comes_back() {
            self.coming_back()
        } else {
            self.to_come()
        }
    }

    fn index(&self, half_day: HalfDay) -> Option<usize> {
        self.shop.horizon.index(half_day).filter(|h| *h >= self.shop.now)
    }

    fn team(&self, row: &StepRow) -> Option<TeamId> {
        let helpers: Option<Vec<CrewId>> = row.with.iter().map(|id| self.shop.find_crew(id)).collect();
        self.shop.find_team(&Team::new(self.shop.find_crew(&row.crew)?, helpers?))
    }

    fn way(&self, row: &StepRow) -> Option<usize> {
        let ways = &self.shop.steps[self.step].ways;
        ways.iter().position(|way| way.id == row.way && way.overtime == row.overtime)
    }

    /// One that has not begun: as the plan has it.
    fn to_come(&self) -> Option<Done> {
        let (shop, first) = (self.shop, self.first?);
        let returns = match self.second {
            None => None,
            Some(row) => Some(Return {
                after: Some(self.index(first.end)?),
                way: self.way(row)?,
                start: self.index(row.start)?,
                units: units(shop, &row.units),
            }),
        };
        Some(Done {
            way: self.way(first)?,
            team: self.team(first)?,
            start: self.index(first.start)?,
            end: self.index(self.second.unwrap_or(first).end)?,
            units: units(shop, &first.units),
            returns,
        })
    }

    /// One in progress: by the crew, in the way and with the units of the book, until what is left is done. The plan says
    /// whether in overtime, and whether it is left and come back to.
    fn going(&self) -> Option<Done> {
        let (shop, facts) = (self.shop, &self.shop.steps[self.step]);
        let going = facts.going.as_ref()?;
        let team = *facts.teams.first()?;
        if let Some(done) = self.returning(team) {
            return Some(done);
        }
        let run = |way: usize| Some((way, shop.runs(self.step, way, team)?.end_of(shop.now)?));
        let (way, end) = self.ways(self.first.or(self.second)?).find_map(run)?;
        Some(Done { way, team, start: shop.now, end, units: going.units.clone(), returns: None })
    }

    /// One between its spans: its crew comes back when the plan says, until what is left is done.
    fn coming_back(&self) -> Option<Done> {
        let (shop, row) = (self.shop, self.first?);
        let (team, start) = (*shop.steps[self.step].teams.first()?, self.index(row.start)?);
        let run = |way: usize| Some((way, shop.runs(self.step, way, team)?.end_of(start)?));
        let (way, end) = self.ways(row).find_map(run)?;
        Some(Done { way, team, start, end, units: units(shop, &row.units), returns: None })
    }

    /// The way of one in progress, first as the row has it: a run without a half-day of overtime is in no overtime.
    fn ways(&self, row: &StepRow) -> impl Iterator<Item = usize> + use<> {
        let facts = &self.shop.steps[self.step];
        let late = facts.ways.iter().position(|way| way.overtime && facts.fixed.way == Some(way.base));
        late.filter(|_| row.overtime).into_iter().chain(facts.fixed.way)
    }

    /// One in progress that is left, or was before now, and come back to when the plan says.
    fn returning(&self, team: TeamId) -> Option<Done> {
        let facts = &self.shop.steps[self.step];
        let (going, second) = (facts.going.as_ref()?, self.second?);
        let start = self.index(second.start)?;
        let left = self.first.and_then(|row| Some((row, self.index(row.end)?)));
        let found = facts.rests.iter().filter(|rest| rest.team == team).find_map(|rest| {
            let leaves = |way: Option<usize>| {
                rest.firsts.iter().find(|span| match left {
                    Some((_, end)) => span.part == Part::First && Some(span.way) == way && span.end == end,
                    None => span.part == Part::LetGo,
                })
            };
            let comes = |way: usize| rest.seconds.iter().find(|span| span.way == way && span.start == start);
            let first = match left {
                Some((row, _)) => self.ways(row).find_map(|way| leaves(Some(way))),
                None => leaves(None),
            };
            Some((first?, self.ways(second).find_map(comes)?))
        });
        let (first, second_span) = found?;
        Some(Done {
            way: first.way,
            team,
            start: self.shop.now,
            end: second_span.end,
            units: left.map_or_else(Vec::new, |_| going.units.clone()),
            returns: Some(Return {
                after: left.map(|(_, end)| end),
                way: second_span.way,
                start,
                units: units(self.shop, &second.units),
            }),
        })
    }
}
