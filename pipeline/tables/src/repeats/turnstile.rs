//! Workers that ask a register in the order of their blocks.

use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use super::game_key::GameKey;
use super::register::{Original, Register};

/// Lets workers ask a register in the order of their blocks.
#[derive(Default)]
pub struct Turnstile {
    state: Mutex<State>,
    moved: Condvar,
}

#[derive(Default)]
struct State {
    register: Register,
    /// Number of the block that asks next.
    next: u64,
    /// Whether a worker has given up.
    stopped: bool,
}

impl Turnstile {
    /// A turnstile before a register.
    pub fn new(register: Register) -> Turnstile {
        let state = State {
            register,
            ..State::default()
        };
        Turnstile {
            state: Mutex::new(state),
            moved: Condvar::new(),
        }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Blocks from this number on are of a source.
    pub fn begin_source(&self, source: &str, first_block: u64) {
        let mut state = self.state();
        state.register.begin_source(source);
        state.next = first_block;
    }

    /// Forgets all games.
    pub fn clear(&self) {
        self.state().register = Register::default();
    }

    /// Waits for the blocks before, and asks for each game of a block which one it repeats;
    /// `None` where another worker has given up.
    pub fn ask(&self, block: u64, games: &[GameKey]) -> Option<Vec<Option<Original>>> {
        let mut state = self.state();
        while state.next != block && !state.stopped {
            let woken = self.moved.wait(state);
            state = woken.unwrap_or_else(PoisonError::into_inner);
        }
        if state.stopped {
            return None;
        }
        let answers = games.iter().map(|game| state.register.ask(game)).collect();
        state.next += 1;
        drop(state);
        self.moved.notify_all();
        Some(answers)
    }

    /// Ends all waiting for a block that will not come.
    pub fn stop(&self) {
        self.state().stopped = true;
        self.moved.notify_all();
    }
}
