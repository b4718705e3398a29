//! The load lists of a plan: what is moved when, week after week, and where everything is meanwhile (L6).

use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use crate::asked::Unmet;
use crate::items::{Item, Source, items};
use crate::moves::{By, Moment, Move};
use crate::rounds::{Rounds, working};
use crate::spot::Spot;
use crate::stretch::{ExtraDrive, Stretch};
use crate::wants::{Want, Wants};

/// The lists of a plan from its now on, to the end of a week.
#[derive(Debug)]
pub struct Loads {
    /// What is loaded.
    pub items: Vec<Item>,
    /// What is wanted, in the order of time; of all the plan.
    pub wants: Vec<Want>,
    /// Who passes where.
    pub rounds: Rounds,
    /// What is moved, in the order of time.
    pub moves: Vec<Move>,
    /// The drives for things alone, in the order of time.
    pub drives: Vec<ExtraDrive>,
    /// What is not met.
    pub unmet: Vec<Unmet>,
    /// Which item meets which want: a want's number, and the item's.
    pub met: Vec<(usize, usize)>,
    /// The half-day after the last that they are made for.
    pub end: usize,
    /// Whether fewer extra drives would not do, stretch by stretch.
    pub fewest: bool,
    first: usize,
    start: Vec<Option<Spot>>,
}

impl Loads {
    /// To the end of the week that holds a half-day.
    pub fn new(shop: &Shop, plan: &Plan, until: usize) -> Self {
        let working = working(shop, plan);
        let rounds = Rounds::new(shop, plan, &working);
        let wants = Wants::new(shop, &working, &rounds).0;
        let items = items(shop, plan);
        let start: Vec<Option<Spot>> = items.iter().map(|item| Some(item.is)).collect();
        let end = ((until / 14 + 1) * 14).min(shop.len());
        let mut loads = Self {
            items,
            wants,
            rounds,
            moves: Vec::new(),
            drives: Vec::new(),
            unmet: Vec::new(),
            met: Vec::new(),
            end,
            fewest: true,
            first: shop.now,
            start: start.clone(),
        };
        let mut now = start;
        let mut at = shop.now;
        while at < end {
            at = loads.stretch(shop, at, &mut now);
        }
        loads
    }

    /// The lists from a half-day on, which hold until the week ends or somebody has seen something elsewhere; where that is.
    fn stretch(&mut self, shop: &Shop, first: usize, now: &mut [Option<Spot>]) -> usize {
        let seen = |item: &Item| item.seen.map(|(from, _)| from);
        for (item, spot) in self.items.iter().zip(now.iter_mut()) {
            if let Some((_, is)) = item.seen.filter(|(from, _)| *from == first) {
                *spot = Some(is);
            }
        }
        let end = ((first / 14 + 1) * 14).min(shop.len());
        let next =
            self.items.iter().filter_map(seen).filter(|from| *from > first).min().map_or(end, |from| from.min(end));
        let (rounds, items, wants) = (&self.rounds, &self.items[..], &self.wants[..]);
        let lists = Stretch { shop, rounds, items, wants, now, span: (first, end) }.lists();
        let drives: Vec<(usize, ExtraDrive)> =
            lists.drives.into_iter().enumerate().filter(|(_, of)| of.h < next).collect();
        for of in lists.moves.into_iter().filter(|of| of.h < next) {
            now[of.item] = Some(of.to);
            let by = match of.by {
                By::Drive(n) => {
                    let kept = drives.iter().position(|(of, _)| *of == n).expect("a drive that is made by then");
                    By::Drive(self.drives.len() + kept)
                }
                by => by,
            };
            self.moves.push(Move { by, ..of });
        }
        self.drives.extend(drives.into_iter().map(|(_, of)| of));
        let before = |unmet: &Unmet| match unmet {
            Unmet::Kit(want, _) => wants[*want].h < next,
            Unmet::Material(item) => items[*item].wanted.is_some_and(|(h, _)| h < next),
        };
        self.unmet.extend(lists.unmet.into_iter().filter(before));
        self.met.extend(lists.met.into_iter().filter(|(want, _)| wants[*want].h < next));
        self.fewest &= lists.fewest;
        next
    }

    /// Where an item is during a half-day, when all of its start has been moved; `None`: it has not come yet.
    pub fn during(&self, item: usize, h: usize) -> Option<Spot> {
        self.spot(item, |of| (of.h, of.moment) <= (h, Moment::Start), h)
    }

    /// Where an item is when a half-day begins, before anything of it is moved; `None`: it has not come yet.
    pub fn before(&self, item: usize, h: usize) -> Option<Spot> {
        self.spot(item, |of| of.h < h, h)
    }

    fn spot(&self, item: usize, till: impl Fn(&Move) -> bool, h: usize) -> Option<Spot> {
        let of = &self.items[item];
        let moved = self.moves.iter().filter(|of| of.item == item && till(of)).last();
        let seen = of.seen.filter(|(from, _)| *from <= h && moved.is_none_or(|of| of.h < *from));
        let is = seen.map(|(_, spot)| spot).or(moved.map(|of| of.to)).or(self.start[item]);
        is.filter(|_| of.from <= h)
    }

    /// The item of one of the book's things.
    pub fn of_thing(&self, number: usize) -> Option<usize> {
        self.items.iter().position(|item| item.source == Source::Thing(number))
    }

    /// The half-day from which on they are made.
    pub fn first(&self) -> usize {
        self.first
    }

    /// The next want of an item's kit at or after a half-day, by its number; of material its own step's start.
    pub fn next_want(&self, item: usize, h: usize) -> Option<usize> {
        let kit = self.items[item].kit.as_ref()?;
        self.wants.iter().position(|want| want.h >= h && want.kit == *kit)
    }
}
