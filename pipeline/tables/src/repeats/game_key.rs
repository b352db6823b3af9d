//! What of a game decides whether it repeats another one.

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

/// What of a game decides whether it repeats another one, in 26 bytes: ten million of them take
/// 260 MB, and their places in a register 84 MB.
///
/// Bytes 0 to 5 are a hash of start, moves and result, and of what else must be equal; then come
/// eight for each name, and the number of the game in its source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct GameKey([u8; GameKey::BYTES]);

impl GameKey {
    /// Size of a key.
    pub const BYTES: usize = 26;

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
        let mut key = [0; GameKey::BYTES];
        key[..6].copy_from_slice(&game.to_le_bytes()[..6]);
        for (name, at) in [white, black].iter().zip([6, 14]) {
            key[at..at + 4].copy_from_slice(&name.whole);
            key[at + 4..at + 8].copy_from_slice(&name.short);
        }
        key[22..].copy_from_slice(&number.to_le_bytes());
        GameKey(key)
    }

    /// The key that was written as these bytes.
    pub fn from_bytes(bytes: [u8; GameKey::BYTES]) -> GameKey {
        GameKey(bytes)
    }

    /// The key as bytes.
    pub fn as_bytes(&self) -> &[u8; GameKey::BYTES] {
        &self.0
    }

    /// Number of the game in its source.
    pub fn number(&self) -> u32 {
        u32::from_le_bytes(std::array::from_fn(|n| self.0[22 + n]))
    }

    /// Hash of all that two repeats have in common.
    pub fn hash(&self) -> u64 {
        xxh3_64(self.game())
    }

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

    /// Whether this and another game, both of one key, are one.
    pub fn repeats(&self, other: &GameKey) -> bool {
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
