//! What is on which truck: rules L1 to L8. From a book and its plan, for each half-day, the moves that bring every wanted
//! thing to its step.
//!
//! *What is exact.* A list has two aims, one before the other: the fewest wants unmet (of as many, the later ones), and the
//! fewest extra drives. It is made for a stretch of at most a week at a time, from where things are when the stretch begins.
//! Handling is kept small and not proven least: with the drives found, who meets what is chosen by what handling costs about
//! ([`serve`]), and then each thing goes the way that has the least of it ([`walk`]).
//!
//! For a set X of extra drives, things of one kit are alike, and those of two kits do not get in each other's way: a truck
//! has room for all. So each kit is a flow of whole things through its places, trucks and units over time ([`network`]):
//!
//! ```text
//! max  sum over wants w of (M + early(w)) * met(w),   met(w) <= count(w),   by a flow from where things are
//! ```
//!
//! What serves at a place comes together there, and goes on lying there or in whatever is there: a thing may be put so
//! while it serves (L4), so that each unit of the flow is the way of one thing. A network's best flow of whole units is as
//! good as any, so successive shortest paths ([`flow`]) find it exactly. Let
//! S(k, X) be that number for kit k, and S(k) the same with every drive there is. The fewest drives are
//!
//! ```text
//! min |X|   such that   S(k, X) = S(k) for every k
//! ```
//!
//! Where S(k, X) < S(k), the potentials p of the flow (its prices) prove a cut: a drive from u to v with p(u) >= p(v) leaves
//! the proof standing, so some drive with p(u) < p(v) is missing, and one of these must be in every X that will do
//! ([`cuts`]). The smallest X that meets all cuts found so far ([`cover`], by branch and bound in whole numbers) is a bound,
//! and where it serves all kits it is the answer. Cuts are added until it is: each rules out the X at hand, and there
//! are finitely many.

mod asked;
mod bits;
mod cover;
mod cuts;
mod flow;
mod items;
mod left;
mod lists;
mod material;
mod moves;
mod network;
mod nights;
mod round_up;
mod rounds;
mod serve;
mod spot;
mod stretch;
mod walk;
mod wants;

pub use asked::Unmet;
pub use items::{Item, Source};
pub use lists::Loads;
pub use material::{Lot, LotState, WrongPlace, lots};
pub use moves::{By, Moment, Move};
pub use nights::{Night, nights};
pub use round_up::{Lying, round_up};
pub use rounds::{Round, Rounds, Working, working};
pub use spot::Spot;
pub use stretch::ExtraDrive;
pub use wants::{Want, Wants};
