//! Games that repeat a game read before (definitions, section 11).
//!
//! A [`Register`] remembers a few bytes of every game kept. Games must be asked about in the order
//! of the archive; [`Turnstile`] lets workers ask block by block in that order.

use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

use hashbrown::HashTable;
use hobble_game::id::Ids;
use hobble_terms::GameResult;
use hobble_terms::names::{is_initial, surname, words};
use xxhash_rust::xxh3::{xxh3_64, xxh3_64_with_seed};

/// Fewest plies of a game that is known again by one player alone.
pub const LONG_GAME: u16 = 16;

/// A name in eight bytes: what must be equal for two spellings to agree. With three bytes for the
/// whole name, 61 of 100,000 games with 20 sequences of moves between different people were taken
/// for repeats.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct NameKey {
    /// Hash of all words, in any order; 0 where the name is missing. The lowest bit says
    /// whether one of them is an initial.
    whole: [u8; 4],
    /// Hash of the surname and the first letters of the other words.
    short: [u8; 4],
}

impl NameKey {
    const MISSING: NameKey = NameKey {
        whole: [0; 4],
        short: [0; 4],
    };

    /// The key of a name, and what all names that agree with it have in common: the first letters
    /// of its words, or all of it where it is one word, as names on the web are.
    fn of(name: Option<&str>) -> (NameKey, String) {
        let name = name.unwrap_or_default();
        let mut all = words(name);
        if all.is_empty() {
            return (NameKey::MISSING, String::new());
        }
        let surname = surname(name, &all);
        all.sort_unstable();
        let has_initial = all.iter().any(|word| is_initial(word));
        let first = |word: &String| word.chars().next();
        let mut others = all.clone();
        if let Some(at) = others.iter().position(|word| *word == surname) {
            others.remove(at);
        }
        let mut letters: String = others.iter().filter_map(first).collect();
        let short = hash32(format!("{surname} {letters}").as_bytes());
        letters.extend(surname.chars().next());
        let mut letters: Vec<char> = letters.chars().collect();
        letters.sort_unstable();
        let mut whole = hash32(all.join(" ").as_bytes());
        // Never the key of a missing name.
        whole[0] = whole[0] & !3 | 2 | u8::from(has_initial);
        let common = match all.as_slice() {
            [word] => word.clone(),
            _ => letters.into_iter().collect(),
        };
        (NameKey { whole, short }, common)
    }

    fn is_missing(self) -> bool {
        self == NameKey::MISSING
    }

    fn agrees(self, other: NameKey) -> bool {
        let has_initial = (self.whole[0] | other.whole[0]) & 1 == 1;
        self.whole == other.whole || has_initial && self.short == other.short
    }
}

fn hash32(bytes: &[u8]) -> [u8; 4] {
    (xxh3_64(bytes) as u32).to_le_bytes()
}

/// What of a game decides whether it repeats another one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct GameKey {
    /// Hash of start, moves and result, and of what else must be equal.
    game: u64,
    names: [NameKey; 2],
    /// Number of the game in its source.
    number: u32,
}

impl GameKey {
    /// The key of a game by its ids, result, plies, the names of White and Black (`None` where
    /// missing) and its number in its source.
    pub fn of(
        ids: Ids,
        result: GameResult,
        plies: u16,
        names: [Option<&str>; 2],
        number: u32,
    ) -> GameKey {
        let [(white, white_letters), (black, black_letters)] = names.map(NameKey::of);
        let nameless = white.is_missing() && black.is_missing();
        let game = if plies == 0 || nameless {
            xxh3_64_with_seed(&ids.game.to_le_bytes(), 1)
        } else {
            let mut bytes = ids.moves.to_le_bytes().to_vec();
            bytes.push(result as u8);
            // Many have played the same few moves: their games must not all meet.
            if plies < LONG_GAME {
                bytes.extend_from_slice(white_letters.as_bytes());
                bytes.push(0);
                bytes.extend_from_slice(black_letters.as_bytes());
            }
            xxh3_64(&bytes)
        };
        GameKey {
            game,
            names: [white, black],
            number,
        }
    }

    fn entry(&self) -> Entry {
        let mut entry = [0; Entry::BYTES];
        entry[..6].copy_from_slice(&self.game.to_le_bytes()[..6]);
        for (name, at) in self.names.iter().zip([6, 14]) {
            entry[at..at + 4].copy_from_slice(&name.whole);
            entry[at + 4..at + 8].copy_from_slice(&name.short);
        }
        entry[22..].copy_from_slice(&self.number.to_le_bytes());
        Entry(entry)
    }
}

/// A game that was kept, in 26 bytes: ten million of them take 260 MB, and their places 84 MB.
#[derive(Clone, Copy)]
struct Entry([u8; Entry::BYTES]);

impl Entry {
    const BYTES: usize = 26;

    fn game(&self) -> &[u8] {
        &self.0[..6]
    }

    fn names(&self) -> [NameKey; 2] {
        let four = |at: usize| std::array::from_fn(|n| self.0[at + n]);
        [6, 14].map(|at| NameKey {
            whole: four(at),
            short: four(at + 4),
        })
    }

    fn number(&self) -> u32 {
        u32::from_le_bytes(std::array::from_fn(|n| self.0[22 + n]))
    }

    /// Place in the table: by all that two repeats have in common.
    fn hash(&self) -> u64 {
        xxh3_64(self.game())
    }

    /// Whether this and another game, both of one key, are one.
    fn repeats(&self, other: &Entry) -> bool {
        if self.game() != other.game() {
            return false;
        }
        let (ours, theirs) = (self.names(), other.names());
        let mut agree = 0;
        for (a, b) in ours.into_iter().zip(theirs) {
            if a.agrees(b) {
                agree += u32::from(!a.is_missing());
            } else if !a.is_missing() && !b.is_missing() {
                return false;
            }
        }
        // Games without names have one game id.
        agree > 0 || ours.iter().chain(&theirs).all(|name| name.is_missing())
    }
}

/// The game that another one repeats.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Original {
    /// Name of its source in the tables.
    pub source: Arc<str>,
    /// Its number in the source.
    pub number: u32,
}

/// The games kept so far.
#[derive(Default)]
pub struct Register {
    entries: Vec<Entry>,
    places: HashTable<u32>,
    /// Sources, each with the number of entries before its own.
    sources: Vec<(u32, Arc<str>)>,
}

impl Register {
    /// Number of games kept.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Whether no game was kept.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// The games that come next are of a source.
    pub fn begin_source(&mut self, source: &str) {
        self.sources
            .push((self.entries.len() as u32, source.into()));
    }

    /// The first game that a game repeats; `None` where there is none, and the game is then
    /// remembered.
    pub fn ask(&mut self, game: &GameKey) -> Option<Original> {
        let entry = game.entry();
        let hash = entry.hash();
        let entries = &self.entries;
        let same = |place: &&u32| entry.repeats(&entries[**place as usize]);
        match self.places.iter_hash(hash).filter(same).min() {
            Some(&place) => Some(self.original(place)),
            None => {
                self.add(entry, hash);
                None
            }
        }
    }

    /// Remembers a game that was kept before.
    pub fn remember(&mut self, game: &GameKey) {
        let entry = game.entry();
        self.add(entry, entry.hash());
    }

    fn add(&mut self, entry: Entry, hash: u64) {
        let place = self.entries.len() as u32;
        self.entries.push(entry);
        let entries = &self.entries;
        let hash_of = |place: &u32| entries[*place as usize].hash();
        self.places.insert_unique(hash, place, hash_of);
    }

    fn original(&self, place: u32) -> Original {
        let source = self.sources.partition_point(|&(first, _)| first <= place);
        Original {
            source: source
                .checked_sub(1)
                .map_or_else(|| "".into(), |at| self.sources[at].1.clone()),
            number: self.entries[place as usize].number(),
        }
    }
}

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

    /// Lets nobody wait for a block that will not come.
    pub fn stop(&self) {
        self.state().stopped = true;
        self.moved.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHORT: u16 = LONG_GAME - 1;

    /// The key of a game of these moves, players and plies.
    fn key(moves: u64, white: &str, black: &str, plies: u16) -> GameKey {
        let ids = Ids {
            game: moves ^ xxh3_64(format!("{white}|{black}").as_bytes()),
            moves,
        };
        let names = [white, black].map(|name| (!name.is_empty()).then_some(name));
        GameKey::of(ids, GameResult::White, plies, names, 7)
    }

    fn is_repeat(first: GameKey, second: GameKey) -> bool {
        let mut register = Register::default();
        assert_eq!(register.ask(&first), None);
        register.ask(&second).is_some()
    }

    #[test]
    fn names_agree_by_case_blanks_punctuation_order_and_initials() {
        for plies in [SHORT, LONG_GAME] {
            let same = |a: &str, b: &str| {
                let other = "Burdock, Ulf";
                is_repeat(key(1, a, other, plies), key(1, b, other, plies))
            };
            for spelling in [
                "windlass,orla",
                "Orla Windlass",
                " WINDLASS  Orla ",
                "Windlass, O.",
                "O. Windlass",
                "Windlass O",
            ] {
                assert!(same("Windlass, Orla", spelling), "{spelling}");
                assert!(same(spelling, "Windlass, Orla"), "{spelling}");
            }
            for other in ["Windlass, Otto", "Windlass", "Windlass, P.", "Widlass, O."] {
                assert!(!same("Windlass, Orla", other), "{other}");
            }
            assert!(same("van der Berg, Jan", "Jan van der Berg"));
            assert!(same("van der Berg, Jan", "J. van der Berg"));
            assert!(!same("player_12", "player_13"));
        }
    }

    #[test]
    fn one_name_may_be_missing_in_a_long_game() {
        let long = |white, black| key(1, white, black, LONG_GAME);
        assert!(is_repeat(long("A", "B"), long("A", "")));
        assert!(is_repeat(long("", "B"), long("A", "B")));
        assert!(!is_repeat(long("A", ""), long("", "B")));
        assert!(!is_repeat(long("A", "B"), long("", "")));
        assert!(!is_repeat(long("A", "B"), long("C", "")));
        assert!(!is_repeat(key(1, "A", "B", SHORT), key(1, "A", "", SHORT)));
    }

    #[test]
    fn games_without_names_or_moves_must_have_one_game_id() {
        assert!(is_repeat(key(1, "", "", 30), key(1, "", "", 30)));
        let other = |event| {
            let ids = Ids {
                game: event,
                moves: 1,
            };
            GameKey::of(ids, GameResult::White, 30, [None, None], 7)
        };
        assert!(!is_repeat(other(1), other(2)));
        let unplayed = |event| {
            let ids = Ids {
                game: event,
                moves: 1,
            };
            GameKey::of(ids, GameResult::White, 0, [Some("A"), Some("B")], 7)
        };
        assert!(!is_repeat(unplayed(1), unplayed(2)));
        assert!(is_repeat(unplayed(1), unplayed(1)));
    }

    #[test]
    fn other_moves_result_or_people_are_no_repeat() {
        let game = key(1, "A", "B", 15);
        assert!(!is_repeat(game, key(2, "A", "B", 15)));
        assert!(!is_repeat(game, key(1, "C", "D", 15)));
        let ids = Ids { game: 1, moves: 1 };
        let drawn = GameKey::of(ids, GameResult::Draw, 15, [Some("A"), Some("B")], 7);
        assert!(!is_repeat(game, drawn));
    }

    #[test]
    fn first_game_is_named_with_its_source() {
        let mut register = Register::default();
        register.begin_source("a");
        assert_eq!(register.ask(&key(1, "A", "", LONG_GAME)), None);
        register.begin_source("b");
        assert_eq!(register.ask(&key(2, "A", "B", LONG_GAME)), None);
        let first = register.ask(&key(1, "A", "B", LONG_GAME)).unwrap();
        assert_eq!((&*first.source, first.number), ("a", 7));
        let second = register.ask(&key(2, "A", "B", LONG_GAME)).unwrap();
        assert_eq!(&*second.source, "b");
        assert_eq!(register.len(), 2);
    }

    #[test]
    fn blocks_are_asked_in_order() {
        let turnstile = Turnstile::default();
        let games = [key(1, "A", "B", LONG_GAME)];
        std::thread::scope(|scope| {
            let later = scope.spawn(|| turnstile.ask(1, &games));
            let first = turnstile.ask(0, &games).unwrap();
            assert_eq!(first, [None]);
            assert!(later.join().unwrap().unwrap()[0].is_some());
        });
        turnstile.stop();
        assert_eq!(turnstile.ask(9, &games), None);
    }
}
