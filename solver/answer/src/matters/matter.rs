//! What may matter to an owner and stands on no bill: each a price of the book, or several that rise and fall together.

use yardless_book::Book;
use yardless_book::money::Cents;

/// One thing that may matter.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Matter {
    /// A date late, of the jobs of a rank that has its own price for it.
    LateOf(String),
    /// A date late, of jobs whose rank has none.
    Late,
    /// A haul: a minute of towing and one of carrying.
    Hauls,
    /// Each own crew on a job beyond the first.
    ExtraCrew,
    /// A half-day that a job ends later.
    Waiting,
    /// A date outside those that a customer was told.
    Told,
    /// A half-day in which a crew helps another.
    Help,
    /// A half-day too few that a crew is kept free.
    KeptFree,
    /// Coming back to a step that was left.
    ComingBack,
    /// A half-day that a job is open.
    Open,
}

/// Where a price stands in the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PriceAt {
    /// A field of its prices.
    Prices(&'static str),
    /// `late_day` of a rank, by its id.
    Rank(String),
}

impl Matter {
    /// All that a book has a price above 0 for, hauls apart: these stay as they are (see the chapter's formula).
    pub fn all(book: &Book) -> Vec<Self> {
        let ranks = book.ranks.iter().filter(|rank| rank.late_day.is_some()).map(|rank| Self::LateOf(rank.id.clone()));
        let others = [
            Self::Late,
            Self::ExtraCrew,
            Self::Waiting,
            Self::Told,
            Self::Help,
            Self::KeptFree,
            Self::ComingBack,
            Self::Open,
        ];
        ranks.chain(others).filter(|matter| matter.prices(book).iter().any(|(_, price)| *price > Cents::ZERO)).collect()
    }

    /// Its prices, and where each stands.
    pub fn prices(&self, book: &Book) -> Vec<(PriceAt, Cents)> {
        let mut book = book.clone();
        self.each(&mut book).into_iter().map(|(at, price)| (at, *price)).collect()
    }

    /// The book with its prices so many times what they are, to the cent and above 0.
    pub fn times(&self, book: &mut Book, factor: f64) {
        for (_, price) in self.each(book) {
            *price = times(*price, factor);
        }
    }

    fn each<'b>(&self, book: &'b mut Book) -> Vec<(PriceAt, &'b mut Cents)> {
        let prices = &mut book.prices;
        let one = |name, price| vec![(PriceAt::Prices(name), price)];
        match self {
            Self::LateOf(id) => {
                let rank = book.ranks.iter_mut().filter(|rank| rank.id == *id);
                rank.filter_map(|rank| Some((PriceAt::Rank(id.clone()), rank.late_day.as_mut()?))).collect()
            }
            Self::Late => one("late_day", &mut prices.late_day),
            Self::Hauls => vec![
                (PriceAt::Prices("tow_minute"), &mut prices.tow_minute),
                (PriceAt::Prices("carry_minute"), &mut prices.carry_minute),
            ],
            Self::ExtraCrew => one("extra_crew", &mut prices.extra_crew),
            Self::Waiting => one("wait_half_day", &mut prices.wait_half_day),
            Self::Told => one("told_day", &mut prices.told_day),
            Self::Help => one("help_half_day", &mut prices.help_half_day),
            Self::KeptFree => one("reserve_half_day", &mut prices.reserve_half_day),
            Self::ComingBack => one("return", &mut prices.come_back),
            Self::Open => one("open_half_day", &mut prices.open_half_day),
        }
    }
}

/// So many times a price, to the cent; a price above 0 stays above 0.
pub fn times(price: Cents, factor: f64) -> Cents {
    if price == Cents::ZERO { price } else { Cents(((price.0 as f64 * factor).round() as i64).max(1)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOOK: &str = include_str!("../../../../data/demo.json");

    #[test]
    fn matters_are_the_prices_above_nothing_and_hauls_are_not_asked_about() {
        let mut book = yardless_book::read(BOOK.as_bytes()).expect("a book").book;
        let all = Matter::all(&book);
        assert!(all.contains(&Matter::LateOf("promised".to_owned())) && !all.contains(&Matter::Hauls), "{all:?}");
        book.prices.open_half_day = Cents::ZERO;
        assert_eq!(Matter::all(&book).len(), all.len() - 1);
        Matter::Hauls.times(&mut book, 2.0);
        assert_eq!((book.prices.tow_minute, book.prices.carry_minute), (Cents(200), Cents(50)));
        Matter::LateOf("whenever".to_owned()).times(&mut book, 0.5);
        assert_eq!(book.ranks[2].late_day, Some(Cents(1_000)));
        assert_eq!((times(Cents(2), 0.01), times(Cents::ZERO, 8.0)), (Cents(1), Cents::ZERO));
    }
}
