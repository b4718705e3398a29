//! The lists of one stretch of half-days: the fewest extra drives, and what is moved.

use std::collections::BTreeMap;

use yardless_plan::shop::{CrewId, PlaceId, Shop, TruckId};

use crate::asked::{Alike, Unmet, asked, places, wanted_next};
use crate::cover::{Cuts, FEW_NODES, MOST_NODES, fewest};
use crate::cuts::{cuts, drive};
use crate::items::Item;
use crate::moves::Move;
use crate::network::{Drive, Drives, Paths, paths};
use crate::rounds::Rounds;
use crate::serve::{Aim, NEXT, away, serve};
use crate::spot::Spot;
use crate::walk::{Must, walk};
use crate::wants::Want;

/// Rounds of cuts after which the drives found so far are taken as they are: no book has come near it.
const MOST_ROUNDS: usize = 400;

/// A drive that is made for things alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ExtraDrive {
    /// By index: the half-day at whose start it is made.
    pub h: usize,
    /// From where.
    pub from: PlaceId,
    /// To where.
    pub to: PlaceId,
    /// The truck that makes it.
    pub truck: TruckId,
    /// Its crew, where it has one.
    pub crew: Option<CrewId>,
}

/// What is at hand for a stretch.
pub struct Stretch<'a> {
    /// The book made ready.
    pub shop: &'a Shop,
    /// Who passes where.
    pub rounds: &'a Rounds,
    /// What is loaded.
    pub items: &'a [Item],
    /// What is wanted.
    pub wants: &'a [Want],
    /// Where everything is when it begins; `None`: nowhere yet, or nobody knows.
    pub now: &'a [Option<Spot>],
    /// By index: its first half-day, and the one after its last.
    pub span: (usize, usize),
}

/// Its lists.
#[derive(Debug, Default)]
pub struct StretchLists {
    /// What is moved, in the order of time.
    pub moves: Vec<Move>,
    /// The extra drives, in the order of time.
    pub drives: Vec<ExtraDrive>,
    /// What is not met.
    pub unmet: Vec<Unmet>,
    /// Which items meet which wants: a want's number, and the item.
    pub met: Vec<(usize, usize)>,
    /// Whether fewer extra drives would not do.
    pub fewest: bool,
}

impl Stretch<'_> {
    /// Makes them.
    pub fn lists(&self) -> StretchLists {
        let all = asked(self.items, self.wants, self.rounds, self.now, self.span);
        let wanted = places(&all);
        let (drives, fewest) = self.fewest(&all, &wanted);
        let paths = self.paths(&wanted, Drives::These(&drives));
        let mut lists = StretchLists { fewest, ..StretchLists::default() };
        for alike in &all {
            self.one(alike, &paths, &mut lists);
        }
        lists.moves.sort_by_key(|of| (of.h, of.moment, of.item));
        lists.drives = drives.iter().map(|drive| self.driven(*drive)).collect();
        lists
    }

    fn paths(&self, wanted: &BTreeMap<usize, Vec<PlaceId>>, drives: Drives) -> Paths {
        let at = |h: usize| wanted.get(&h).cloned().unwrap_or_default();
        paths(self.shop, self.rounds, self.span, &at, drives)
    }

    /// The fewest drives with which as much is met as with all of them; and whether that is proven.
    fn fewest(&self, all: &[Alike], wanted: &BTreeMap<usize, Vec<PlaceId>>) -> (Vec<Drive>, bool) {
        let end = self.span.1;
        let most = |alike: &Alike, paths: &Paths| serve(self.shop, paths, alike, end, &Aim::Most);
        let none = self.paths(wanted, Drives::These(&[]));
        let every = self.paths(wanted, Drives::All);
        let short: Vec<(&Alike, i64)> = all
            .iter()
            .filter(|alike| !alike.items.is_empty() && !alike.demands.is_empty())
            .map(|alike| (alike, most(alike, &every).value))
            .filter(|(alike, value)| most(alike, &none).value < *value)
            .collect();
        let mut drives: Vec<Drive> = Vec::new();
        let candidates = self.shop.len() * self.shop.places.len() * self.shop.places.len();
        let mut found = Cuts::default();
        self.asked_alone(&short, &none, &every).into_iter().for_each(|cut| found.add(cut, candidates));
        let (mut least, mut nodes) = (0, FEW_NODES);
        for _ in 0..=MOST_ROUNDS {
            let choice = fewest(found.all(), least, nodes, |number| self.taste(number));
            let Some(chosen) = choice.chosen else { break };
            least = choice.least;
            drives = chosen.into_iter().map(|number| drive(self.shop, number)).collect();
            drives.sort_unstable();
            let with = self.paths(wanted, Drives::These(&drives));
            let lacks = |(alike, value): &(&Alike, i64)| self.cuts_of(alike, *value, wanted, (&drives, &with));
            let more: Vec<Vec<usize>> = short.iter().flat_map(lacks).collect();
            if more.is_empty() && (drives.len() <= least || nodes == MOST_NODES) {
                let proven = drives.len() <= least;
                return (drives, proven);
            }
            // Where they will do it is to be proven that fewer will not.
            nodes = if more.is_empty() { MOST_NODES } else { FEW_NODES };
            for cut in more {
                found.add(cut, candidates);
            }
        }
        (self.enough(&short, wanted, drives), false)
    }

    /// What each want asks by itself, where it is met as far as it can be whenever as much is met as can be: with one less of
    /// it, less is.
    fn asked_alone(&self, short: &[(&Alike, i64)], none: &Paths, every: &Paths) -> Vec<Vec<usize>> {
        let most = |alike: &Alike, paths: &Paths| serve(self.shop, paths, alike, self.span.1, &Aim::Most);
        let mut found = Vec::new();
        for (alike, value) in short {
            for (n, one) in one_by_one(alike).enumerate() {
                let (can, served) = (most(&one, every), most(&one, none));
                if served.value >= can.value {
                    continue;
                }
                let mut less = (*alike).clone();
                less.demands[n].count = can.met().map(|(_, met)| met).sum::<u32>() - 1;
                if most(&less, every).value < *value {
                    found.extend(cuts(self.shop, none, &served).into_iter().filter(|cut| !cut.is_empty()));
                }
            }
        }
        found
    }

    /// What some drives lack for alike things: cuts by these drives, and by more of them as each of the cuts asks.
    fn cuts_of(
        &self,
        alike: &Alike,
        value: i64,
        wanted: &BTreeMap<usize, Vec<PlaceId>>,
        (drives, first): (&[Drive], &Paths),
    ) -> Vec<Vec<usize>> {
        let mut with = drives.to_vec();
        let mut more: Option<Paths> = None;
        let mut found = Vec::new();
        loop {
            let paths = more.as_ref().unwrap_or(first);
            let served = serve(self.shop, paths, alike, self.span.1, &Aim::Most);
            if served.value >= value {
                return found;
            }
            let two = cuts(self.shop, paths, &served);
            // One that is in both helps by itself, where any does.
            let both = two[0].iter().filter(|of| two[1].binary_search(of).is_ok()).min_by_key(|of| self.taste(**of));
            let next = both.or_else(|| two.iter().flatten().min_by_key(|of| self.taste(**of))).copied();
            found.extend(two.into_iter().filter(|cut| !cut.is_empty()));
            let Some(next) = next else { return found };
            with.push(drive(self.shop, next));
            with.sort_unstable();
            more = Some(self.paths(wanted, Drives::These(&with)));
        }
    }

    /// Drives that will do, not proven to be the fewest: as many more as each kit asks for.
    fn enough(
        &self,
        short: &[(&Alike, i64)],
        wanted: &BTreeMap<usize, Vec<PlaceId>>,
        mut drives: Vec<Drive>,
    ) -> Vec<Drive> {
        for (alike, value) in short {
            loop {
                let paths = self.paths(wanted, Drives::These(&drives));
                let served = serve(self.shop, &paths, alike, self.span.1, &Aim::Most);
                let two = cuts(self.shop, &paths, &served);
                let best = two.iter().flatten().min_by_key(|of| self.taste(**of)).filter(|_| served.value < *value);
                let Some(next) = best else { break };
                drives.push(drive(self.shop, *next));
                drives.sort_unstable();
            }
        }
        drives
    }

    /// Of drives that do as well: one of few minutes, at the half-day that comes last.
    fn taste(&self, number: usize) -> (u32, usize) {
        let Drive { h, from, to } = drive(self.shop, number);
        let minutes = self.shop.drive(from, to).map_or(u32::MAX, |drive| drive.minutes);
        (minutes, self.shop.len() - h)
    }

    /// Alike things: who meets what, and how each goes.
    fn one(&self, alike: &Alike, paths: &Paths, lists: &mut StretchLists) {
        let end = self.span.1;
        let belongs = |item: usize, spot: Spot| {
            let of = &self.items[item];
            match (of.wanted, of.home) {
                (Some((_, place)), _) => spot == Spot::Place(place),
                (None, Some(home)) => home == spot,
                (None, None) => self.now[item] == Some(spot),
            }
        };
        let mut left_there: BTreeMap<Spot, u32> = BTreeMap::new();
        let next = |spot: Spot| match (alike.items.first(), spot) {
            (Some((item, ..)), Spot::Place(place)) => wanted_next(&self.items[*item], self.wants, place, end),
            _ => 0,
        };
        let served = serve(self.shop, paths, alike, end, &Aim::Handling(&belongs, &next));
        lists.unmet.extend(served.unmet());
        let mut left: Vec<u32> = alike.demands.iter().map(|demand| demand.count).collect();
        for (item, met) in served.shares() {
            let (_, spot, from) = alike.items.iter().find(|(of, ..)| *of == item).expect("one of these");
            let wants: Vec<Option<usize>> = met
                .iter()
                .map(|n| (&alike.demands[*n], left[*n]))
                .map(|(of, left)| nth_want(&of.of, of.count - left))
                .collect();
            let crew = |k: usize| wants[k].map(|want| self.wants[want].crew);
            let of = |(k, n): (usize, &usize)| (&alike.demands[*n], crew(k));
            let musts: Vec<Must> = (met.iter().enumerate().map(of))
                .map(|(of, crew)| Must { h: of.h, place: of.place, along: of.along, crew })
                .collect();
            let more = |spot: Spot| next(spot) > left_there.get(&spot).copied().unwrap_or(0);
            let rests = |spot: Spot| match spot {
                _ if belongs(item, spot) => 0,
                _ if more(spot) => NEXT,
                _ => away(spot),
            };
            // Where the flow has crossed what one thing cannot, the last of what it meets is named unmet.
            let mut kept = met.len();
            let moves = loop {
                let found = walk(self.shop, self.rounds, paths, (item, *spot, *from), &musts[..kept], &rests);
                match found {
                    Some(moves) => break moves,
                    None if kept == 0 => break Vec::new(),
                    None => kept -= 1,
                }
            };
            let ends = moves.last().map_or(*spot, |of| of.to);
            *left_there.entry(ends).or_default() += u32::from(!belongs(item, ends));
            lists.moves.extend(moves);
            for (k, n) in met.into_iter().enumerate() {
                let want = wants[k];
                if k < kept {
                    lists.met.extend(want.map(|want| (want, item)));
                } else {
                    lists.unmet.push(want.map_or(Unmet::Material(item), |want| Unmet::Kit(want, 1)));
                }
                left[n] -= 1;
            }
        }
    }

    /// Who makes a drive: a truck whose crew works where it leads, else where it sets out, else any that may.
    fn driven(&self, Drive { h, from, to }: Drive) -> ExtraDrive {
        let may = || self.shop.trucks.ids().filter(|truck| self.shop.trucks[*truck].available[h]);
        let works = |truck: &TruckId, place: PlaceId| {
            self.shop.trucks[*truck].crew.is_some_and(|crew| self.rounds.places(crew, h).contains(&place))
        };
        let near = may().find(|truck| works(truck, to)).or_else(|| may().find(|truck| works(truck, from)));
        let truck = near.or_else(|| may().next()).expect("a half-day in which a truck may be had");
        ExtraDrive { h, from, to, truck, crew: self.shop.trucks[truck].crew }
    }
}

/// Alike things with each of what is wanted of them alone.
fn one_by_one(alike: &Alike) -> impl Iterator<Item = Alike> {
    alike.demands.iter().map(|demand| Alike { items: alike.items.clone(), demands: vec![demand.clone()] })
}

/// The want that the nth thing of a demand meets: the first ones have theirs first.
fn nth_want(of: &[Unmet], nth: u32) -> Option<usize> {
    let mut before = 0;
    of.iter().find_map(|unmet| match unmet {
        Unmet::Kit(want, count) => {
            before += count;
            (nth < before).then_some(*want)
        }
        Unmet::Material(_) => None,
    })
}
