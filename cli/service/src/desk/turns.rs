//! Whose question is answered next. Questions that search are answered one at a time; accounts take turns, so that who
//! asks much waits for themselves. An owner's question comes next, though never twice running while others wait; while
//! a plan is being made, the long questions of others wait for it.

use std::collections::VecDeque;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use axum::http::StatusCode;
use tokio::sync::oneshot;

use crate::refusal::Refusal;

/// Questions of one account that may wait for their turn.
const MOST_WAITING: usize = 3;
/// How long one waits at most: what is left of a request's time is for the longest answer.
const MOST_TIME: Duration = Duration::from_secs(22);
/// When to ask again, in seconds, for who had no turn: a long answer later.
const LATER: u64 = 20;

/// Who asks.
#[derive(Clone, Copy, Debug)]
pub struct Asker {
    /// The account.
    pub account: i64,
    /// Whether it is an owner's.
    pub owner: bool,
}

/// The turns, shared by whoever waits.
#[derive(Clone, Debug, Default)]
pub struct Turns(Arc<Mutex<Waiters>>);

#[derive(Debug, Default)]
struct Waiters {
    /// Those who wait, an account each; whose turn is the furthest back comes first.
    lines: VecDeque<OfOne>,
    /// Whether somebody has the turn.
    taken: bool,
    /// Whether the last turn was an owner's.
    owner_had_it: bool,
    /// Plans that are being made.
    plannings: usize,
}

#[derive(Debug)]
struct OfOne {
    asker: Asker,
    waiting: VecDeque<Waiting>,
}

#[derive(Debug)]
struct Waiting {
    long: bool,
    tell: oneshot::Sender<Turn>,
}

/// A turn; it passes on when it is dropped.
#[derive(Debug)]
pub struct Turn(Turns);

/// A plan is being made; over when it is dropped.
#[derive(Debug)]
pub struct PlanningTurn(Turns);

impl Turns {
    /// Waits for a turn. `long`: for a question that takes the core for seconds.
    pub async fn turn(&self, asker: Asker, long: bool) -> Result<Turn, Refusal> {
        let mut came = self.wait(asker, long)?;
        self.pass_on();
        if let Ok(turn) = came.try_recv() {
            return Ok(turn);
        }
        tracing::info!(account = asker.account, "a question waits for its turn");
        match tokio::time::timeout(MOST_TIME, came).await {
            Ok(Ok(turn)) => Ok(turn),
            _ => Err(no_turn(self.state().plannings > 0 && long && !asker.owner)),
        }
    }

    /// A plan is being made until what this gives is dropped.
    pub fn planning(&self) -> PlanningTurn {
        self.state().plannings += 1;
        PlanningTurn(self.clone())
    }

    fn state(&self) -> MutexGuard<'_, Waiters> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn wait(&self, asker: Asker, long: bool) -> Result<oneshot::Receiver<Turn>, Refusal> {
        let mut state = self.state();
        state.forget_those_gone();
        let at = state.lines.iter().position(|line| line.asker.account == asker.account).unwrap_or_else(|| {
            state.lines.push_back(OfOne { asker, waiting: VecDeque::new() });
            state.lines.len() - 1
        });
        let line = &mut state.lines[at];
        if line.waiting.len() >= MOST_WAITING {
            return Err(too_many_wait());
        }
        let (tell, came) = oneshot::channel();
        line.waiting.push_back(Waiting { long, tell });
        Ok(came)
    }

    /// Gives the turn to whoever is next, if it is nobody's.
    fn pass_on(&self) {
        let next = {
            let mut state = self.state();
            let next = if state.taken { None } else { state.next() };
            state.taken |= next.is_some();
            next
        };
        if let Some(next) = next {
            // Who has gone away meanwhile gives it back: it passes on from there.
            drop(next.tell.send(Turn(self.clone())));
        }
    }
}

impl Waiters {
    fn forget_those_gone(&mut self) {
        self.lines.iter_mut().for_each(|line| line.waiting.retain(|of| !of.tell.is_closed()));
        self.lines.retain(|line| !line.waiting.is_empty());
    }

    fn next(&mut self) -> Option<Waiting> {
        self.forget_those_gone();
        let planning = self.plannings > 0;
        let may = |line: &OfOne| {
            let may = |of: &Waiting| line.asker.owner || !of.long || !planning;
            line.waiting.iter().position(may)
        };
        let mut all = self.lines.iter().enumerate().filter_map(|(n, line)| Some((n, may(line)?, line.asker.owner)));
        let first = all.clone().next()?;
        let (n, at, owner) = all.find(|(_, _, owner)| *owner != self.owner_had_it).unwrap_or(first);
        self.owner_had_it = owner;
        let mut line = self.lines.remove(n)?;
        let next = line.waiting.remove(at);
        if !line.waiting.is_empty() {
            self.lines.push_back(line);
        }
        next
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        self.0.state().taken = false;
        self.0.pass_on();
    }
}

impl Drop for PlanningTurn {
    fn drop(&mut self) {
        self.0.state().plannings -= 1;
        self.0.pass_on();
    }
}

/// Set once nobody waits for an answer any more.
#[derive(Default)]
pub struct Gone(pub Arc<AtomicBool>);

impl Drop for Gone {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

fn too_many_wait() -> Refusal {
    let says = format!("{MOST_WAITING} questions of yours wait for their turn already.");
    let help = "Wait for their answers, or leave their pages; then ask again.";
    let refusal = Refusal::new(StatusCode::TOO_MANY_REQUESTS, "web::questions-wait", says, help);
    Refusal { wait: Some(LATER), ..refusal }
}

fn no_turn(for_planning: bool) -> Refusal {
    let says =
        if for_planning { "A plan is being made, which goes first." } else { "Other questions were asked before." };
    let help = format!("Ask again in {LATER} s.");
    Refusal { wait: Some(LATER), ..Refusal::new(StatusCode::SERVICE_UNAVAILABLE, "web::no-turn", says, help) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const OWNER: Asker = Asker { account: 1, owner: true };
    const READER: Asker = Asker { account: 2, owner: false };
    const OTHER: Asker = Asker { account: 3, owner: false };

    /// Waits in line; whoever comes first has the turn already.
    fn asks(turns: &Turns, asker: Asker, long: bool) -> oneshot::Receiver<Turn> {
        let came = turns.wait(asker, long).expect("a place in the line");
        turns.pass_on();
        came
    }

    /// Ends turn after turn: who had them, by their place in the list.
    fn order(mut turn: Turn, mut waiting: Vec<oneshot::Receiver<Turn>>) -> Vec<usize> {
        let mut order = Vec::new();
        let mut names: Vec<usize> = (0..waiting.len()).collect();
        loop {
            drop(turn);
            let Some((n, next)) = waiting.iter_mut().enumerate().find_map(|(n, of)| Some((n, of.try_recv().ok()?)))
            else {
                return order;
            };
            waiting.remove(n);
            order.push(names.remove(n));
            turn = next;
        }
    }

    #[test]
    fn who_asks_much_waits_for_themselves_and_an_owner_comes_next() {
        let turns = Turns::default();
        let first = asks(&turns, READER, true).try_recv().expect("nobody else asks");
        let reader: Vec<_> = (0..MOST_WAITING).map(|_| asks(&turns, READER, true)).collect();
        for _ in MOST_WAITING..60 {
            assert_eq!(turns.wait(READER, true).expect_err("no more").status, 429);
        }
        // 0 to 2 the reader's, 3 the other's, 4 and 5 the owner's.
        let others = [asks(&turns, OTHER, false), asks(&turns, OWNER, true), asks(&turns, OWNER, true)];
        assert_eq!(order(first, reader.into_iter().chain(others).collect()), [4, 0, 5, 3, 1, 2]);
    }

    #[test]
    fn who_goes_away_leaves_their_place_to_others() {
        let turns = Turns::default();
        let first = asks(&turns, READER, true).try_recv().expect("nobody else asks");
        let gone: Vec<_> = (0..MOST_WAITING).map(|_| asks(&turns, READER, true)).collect();
        let other = asks(&turns, OTHER, true);
        drop(gone);
        let again = asks(&turns, READER, true);
        assert_eq!(order(first, vec![again, other]), [1, 0]);
        // One who goes away with the turn in hand passes it on.
        let in_hand = asks(&turns, READER, true);
        let mut next = asks(&turns, OTHER, true);
        assert!(next.try_recv().is_err());
        drop(in_hand);
        assert!(next.try_recv().is_ok());
    }

    #[test]
    fn long_questions_of_others_wait_for_a_planning() {
        let turns = Turns::default();
        let planning = turns.planning();
        let mut long = asks(&turns, READER, true);
        let mut short = asks(&turns, READER, false);
        drop(short.try_recv().expect("a short one need not wait"));
        drop(asks(&turns, OWNER, true).try_recv().expect("nor an owner"));
        assert!(long.try_recv().is_err());
        drop(planning);
        drop(long.try_recv().expect("its turn once the plan is made"));
    }
}
