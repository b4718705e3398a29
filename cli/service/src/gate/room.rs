//! Room for connections: so many at once, and so many from one network. Whoever comes is let in, and another gives way:
//! strangers before who is signed in, of the network that holds most, the oldest first, whatever they do; then whoever
//! is signed in and has kept the service waiting longest.
//!
//! So neither slow senders nor peers that never read keep anybody out: a request that is sent at once is answered.

use std::cmp::Reverse;
use std::collections::{BTreeMap, HashMap};
use std::net::{IpAddr, Ipv6Addr};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Instant;

use tokio::sync::Notify;

use crate::refusal::Refusal;

/// Connections at once.
const MOST: usize = 512;
/// Of them from one network.
const MOST_OF_ONE: usize = 128;

/// All connections that are open.
pub struct Room {
    /// Behind a server of ours all come from it: then requests under way are counted, by whom they are from.
    proxied: bool,
    seats: Mutex<Seats>,
}

#[derive(Default)]
struct Seats {
    next: u64,
    all: BTreeMap<u64, Seat>,
}

/// What is known of one connection.
struct Seat {
    /// The network at its other end.
    peer: IpAddr,
    /// The network that the request under way is from.
    from: IpAddr,
    /// Whether somebody who is signed in asked last.
    known: bool,
    doing: Doing,
    /// Whether the peer has to take something first.
    blocked: bool,
    /// Since when whoever's turn it is has it.
    since: Instant,
    leave: Arc<Notify>,
}

/// What goes on on a connection.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Doing {
    /// A request has to come.
    Nothing,
    /// One is being answered.
    Answering,
    /// One is answered as long as the peer listens.
    Telling,
}

impl Seat {
    /// Whether the next thing to happen is the peer's.
    fn keeps_waiting(&self) -> bool {
        self.doing != Doing::Answering || self.blocked
    }
}

impl Room {
    /// An empty one.
    pub fn new(proxied: bool) -> Self {
        Self { proxied, seats: Mutex::default() }
    }

    fn seats(&self) -> MutexGuard<'_, Seats> {
        self.seats.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Lets a connection in; where there is no room, in the place of another. `None`: nobody can give way.
    pub fn enter(self: &Arc<Self>, peer: IpAddr) -> Option<Place> {
        let peer = network(peer);
        let mut seats = self.seats();
        let of_peer = seats.all.values().filter(|seat| seat.peer == peer).count();
        if !self.proxied && of_peer >= MOST_OF_ONE {
            seats.make_one(|seat| seat.peer == peer)?;
        } else if seats.all.len() >= MOST {
            seats.make_one(|_| true)?;
        }
        let leave = Arc::new(Notify::new());
        let seat = Seat {
            peer,
            from: peer,
            known: false,
            doing: Doing::Nothing,
            blocked: false,
            since: Instant::now(),
            leave: Arc::clone(&leave),
        };
        seats.next += 1;
        let number = seats.next;
        seats.all.insert(number, seat);
        drop(seats);
        Some(Place(Arc::new(Occupied { room: Arc::clone(self), number, leave })))
    }

    /// Makes one give way, for want of something else than room.
    pub fn make_one(&self) {
        let _ = self.seats().make_one(|_| true);
    }
}

impl Seats {
    fn make_one(&mut self, may: impl Fn(&Seat) -> bool) -> Option<()> {
        let mut strangers: HashMap<IpAddr, usize> = HashMap::new();
        self.all.values().filter(|seat| !seat.known).for_each(|seat| *strangers.entry(seat.from).or_default() += 1);
        let gives_way = |seat: &Seat| may(seat) && (!seat.known || seat.keeps_waiting());
        let held = |seat: &Seat| if seat.known { 0 } else { strangers.get(&seat.from).copied().unwrap_or(0) };
        // The oldest come first here; of who is signed in, whoever's turn has lasted longest.
        let first = self
            .all
            .iter()
            .filter(|(_, seat)| gives_way(seat))
            .min_by_key(|(_, seat)| (seat.known, Reverse(held(seat)), seat.known.then_some(seat.since)));
        let number = *first?.0;
        self.all.remove(&number)?.leave.notify_one();
        Some(())
    }
}

/// A connection's place, kept as long as any of these is.
#[derive(Clone)]
pub struct Place(Arc<Occupied>);

struct Occupied {
    room: Arc<Room>,
    number: u64,
    leave: Arc<Notify>,
}

impl Drop for Occupied {
    fn drop(&mut self) {
        self.room.seats().all.remove(&self.number);
    }
}

impl Place {
    /// Waits until it has to be given up.
    pub async fn given_up(&self) {
        self.0.leave.notified().await;
    }

    fn with<T>(&self, does: impl FnOnce(&mut Seat) -> T) -> Option<T> {
        self.0.room.seats().all.get_mut(&self.0.number).map(does)
    }

    /// A request begins, from an address; it is under way until what is returned is dropped.
    pub fn begins(&self, from: IpAddr) -> Result<UnderWay, Refusal> {
        let from = network(from);
        let mut seats = self.0.room.seats();
        if self.0.room.proxied {
            let of_it = seats.all.values().filter(|seat| seat.doing != Doing::Nothing && seat.from == from).count();
            if of_it >= MOST_OF_ONE {
                return Err(Refusal::too_many(1));
            }
        }
        if let Some(seat) = seats.all.get_mut(&self.0.number) {
            // Behind a server of ours, one connection carries the requests of many.
            seat.known &= seat.from == from && !self.0.room.proxied;
            (seat.from, seat.doing, seat.since) = (from, Doing::Answering, Instant::now());
        }
        drop(seats);
        Ok(UnderWay(self.clone()))
    }

    /// Whoever asks is signed in.
    pub fn is_known(&self) {
        self.with(|seat| seat.known = true);
    }

    /// What is under way goes on as long as somebody listens.
    pub fn listens(&self) {
        self.with(|seat| (seat.doing, seat.since) = (Doing::Telling, Instant::now()));
    }

    /// The peer takes nothing of what is sent, or does again.
    pub fn is_blocked(&self, blocked: bool) {
        self.with(|seat| {
            if seat.blocked != blocked {
                (seat.blocked, seat.since) = (blocked, Instant::now());
            }
        });
    }
}

/// A request that is being answered.
pub struct UnderWay(Place);

impl Drop for UnderWay {
    fn drop(&mut self) {
        self.0.with(|seat| {
            (seat.from, seat.doing, seat.since) = (seat.peer, Doing::Nothing, Instant::now());
        });
    }
}

/// The network of an address: somebody who has one address of IPv6 has all of its /64.
pub fn network(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(of) => IpAddr::V6(Ipv6Addr::from_bits(of.to_bits() & !u128::from(u64::MAX))),
        of @ IpAddr::V4(_) => of,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(n: usize) -> IpAddr {
        IpAddr::from([10, 0, (n / 250) as u8, (n % 250) as u8])
    }

    fn is_there(place: &Place) -> bool {
        place.with(|_| ()).is_some()
    }

    #[test]
    fn stranger_of_the_largest_crowd_who_waited_longest_gives_way_and_nobody_who_is_known() {
        let room = Arc::new(Room::new(false));
        let known: Vec<_> = (0..20).map(|n| room.enter(address(n)).expect("room")).collect();
        known.iter().for_each(Place::is_known);
        let crowd: Vec<_> = (0..MOST_OF_ONE).map(|_| room.enter(address(900)).expect("room")).collect();
        let single: Vec<_> = (20 + MOST_OF_ONE..MOST).map(|n| room.enter(address(n)).expect("room")).collect();
        let new: Vec<_> = (0..100).map(|n| room.enter(address(600 + n)).expect("room")).collect();
        assert!(known.iter().chain(&single).chain(&new).all(is_there));
        let (gone, left) = crowd.split_at(100);
        assert!(!gone.iter().any(is_there) && left.iter().all(is_there));
    }

    #[test]
    fn one_network_takes_the_room_of_its_own_only() {
        let room = Arc::new(Room::new(false));
        let other = room.enter(address(1)).expect("room");
        let of_one = |n: usize| room.enter(format!("2001:db8::{n:x}").parse().expect("an address")).expect("room");
        let crowd: Vec<_> = (0..=MOST_OF_ONE).map(of_one).collect();
        assert!(is_there(&other) && !is_there(&crowd[0]) && crowd[1..].iter().all(is_there));
        // Nor does somebody new give way to those whose requests have begun and do not end.
        let begun: Vec<_> = crowd[1..].iter().map(|place| place.begins(address(2)).ok()).collect();
        let new = of_one(999);
        assert!(is_there(&new) && !is_there(&crowd[1]) && crowd[2..].iter().all(is_there));
        drop(begun);
        let neighbour = room.enter("2001:db8:0:1::1".parse().expect("an address")).expect("room");
        assert!(is_there(&crowd[2]) && is_there(&neighbour), "another /64 is another network");
    }

    #[test]
    fn addresses_of_one_network_are_one() {
        let of = |text: &str| network(text.parse().expect("an address"));
        assert_eq!(of("2001:db8:1:2:3::4"), of("2001:db8:1:2:ffff::"));
        assert_ne!(of("2001:db8:1:2::"), of("2001:db8:1:3::"));
        assert_eq!(of("::ffff:192.0.2.1"), of("192.0.2.1"));
        assert_ne!(of("192.0.2.1"), of("192.0.2.2"));
    }

    #[test]
    fn who_is_signed_in_gives_way_only_where_the_turn_is_theirs() {
        let room = Arc::new(Room::new(false));
        let known: Vec<_> = (0..MOST).map(|n| room.enter(address(n)).expect("room")).collect();
        known.iter().for_each(Place::is_known);
        let mut under_way: Vec<_> = known.iter().enumerate().map(|(n, of)| of.begins(address(n)).ok()).collect();
        assert!(room.enter(address(900)).is_none(), "all are being answered");
        known[7].is_blocked(true);
        let new = room.enter(address(900)).expect("in the place of one that does not read");
        assert!(!is_there(&known[7]) && is_there(&new));
        under_way[9] = None;
        new.is_known();
        let _answered = new.begins(address(900));
        assert!(room.enter(address(901)).is_some() && !is_there(&known[9]), "in the place of an idle one");
    }

    #[test]
    fn behind_a_server_of_ours_requests_count_for_whom_it_names() {
        let (room, server) = (Arc::new(Room::new(true)), address(0));
        let places: Vec<_> = (0..=MOST_OF_ONE).map(|_| room.enter(server).expect("room")).collect();
        assert!(places.iter().all(is_there));
        let greedy: Vec<_> = places.iter().map(|place| place.begins(address(5))).collect();
        assert!(greedy[..MOST_OF_ONE].iter().all(Result::is_ok) && greedy[MOST_OF_ONE].is_err());
        assert!(places[MOST_OF_ONE].begins(address(6)).is_ok(), "others are answered");
        drop(greedy);
        assert!(places[0].begins(address(5)).is_ok(), "what has ended does not count");
    }
}
