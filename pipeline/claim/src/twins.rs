//! Twins: pieces of one kind and owner in one position, one at least of the claim's and one at
//! least free. Whatever belongs to the position, its owner or the game is the same for both.

use std::collections::BTreeMap;

use hobble_conditions::AskError;
use hobble_conditions::terms::Kind;
use hobble_dataset::frame::{collect, number_is};
use hobble_dataset::{DatasetError, Part, PartId};
use hobble_statistics::clusters::Clustering;
use hobble_statistics::conditional_logit::{MatchedSets, fit};
use hobble_statistics::fit::FitError;
use hobble_statistics::{Estimate, LEVEL};
use hobble_terms::names;
use polars::prelude::col;
use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};
use xxhash_rust::xxh3::xxh3_64;

use super::file::Claim;
use super::turn::Turn;

/// Sets of twins in which one piece met the outcome and another did not, at the least.
pub const LEAST: u64 = 20;

/// Safe squares before from which more make no difference.
pub(crate) const MOST_BEFORE: u8 = 6;

/// A piece of a set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Twin {
    /// Whether it is one of the claim's pieces; else it is free.
    own: bool,
    /// Whether it met the outcome.
    met: bool,
    defended: bool,
    /// Safe squares two turns before, 6 at most.
    before: u8,
    attacked: bool,
    /// Rows of the board behind it, seen from its owner.
    forward: u8,
    at_edge: bool,
}

/// A row that may be in a set: which set, and the piece.
pub type Row = (SetId, Twin);

/// What the pieces of a set share.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct SetId {
    /// Number of the game in its source.
    pub(crate) game: u32,
    ply: u16,
    kind: Kind,
    /// Whether their owner is White.
    pub(crate) white: bool,
}

impl SetId {
    /// Of the pieces like one.
    pub(crate) fn of(turn: &Turn) -> SetId {
        SetId {
            game: turn.game,
            ply: turn.ply,
            kind: turn.kind,
            white: turn.white,
        }
    }

    /// Hash of the name of their owner, where it is known.
    pub(crate) fn owner(&self, owners: &Owners) -> Option<u64> {
        let [white, black] = owners.get(&self.game)?;
        if self.white { *white } else { *black }
    }
}

/// Sets of twins: numbers of all, and those that count: with and without the outcome in one.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Sets {
    counts: Counts,
    #[serde(with = "hobble_conditions::sum::pairs")]
    telling: BTreeMap<(PartId, SetId), Telling>,
}

/// A set that counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Telling {
    twins: Vec<Twin>,
    /// Hash of the owner's name; `None` where it is not known.
    owner: Option<u64>,
}

/// How many twins there are.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counts {
    /// Sets.
    pub sets: u64,
    /// The claim's pieces in them.
    pub own: u64,
    /// Those that met the outcome.
    pub own_met: u64,
    /// Free pieces in them.
    pub free: u64,
    /// Those that met the outcome.
    pub free_met: u64,
    /// Sets in which some pieces met it and some did not: they alone count.
    pub telling: u64,
}

/// A row of the table that may stand in a set; `own` and `free` say what the piece is.
///
/// Turns with a landmark are all in the table, the others only by the sample; a set is taken
/// from one sort alone, so that each stands for as many: for restrained pieces at a landmark
/// that is always in the table from the first, else from the sample.
pub fn row(claim: &Claim, turn: &Turn, own: bool, free: bool) -> Option<Row> {
    let there = if all_there(claim) {
        turn.landmark
    } else {
        turn.sampled
    };
    let before = turn.before[1]?;
    (there && own != free).then(|| {
        let set = SetId::of(turn);
        let twin = Twin {
            own,
            met: turn.met(claim.of_piece(), claim.within),
            defended: turn.defended,
            before: before.min(MOST_BEFORE),
            attacked: turn.attacked,
            forward: turn.forward,
            at_edge: turn.at_edge,
        };
        (set, twin)
    })
}

/// Whether every turn at which one of the claim's pieces is at its landmark is in the table
/// (definitions, section 8).
pub(crate) fn all_there(claim: &Claim) -> bool {
    let most = |kind: &Kind| match kind {
        Kind::Knight | Kind::Bishop => 1,
        Kind::Rook | Kind::Queen => 2,
    };
    claim.is_of_restrained()
        && claim.turns == claim.first_turn()
        && claim.kinds.iter().all(|kind| claim.k <= most(kind))
}

impl Sets {
    /// Puts the rows of a part together.
    pub fn of(part: &PartId, mut rows: Vec<Row>) -> Sets {
        rows.sort_unstable();
        let mut sets = Sets::default();
        for set in rows.chunk_by(|one, other| one.0 == other.0) {
            sets.note(part, set);
        }
        sets
    }

    fn note(&mut self, part: &PartId, set: &[Row]) {
        let number = |of: fn(&Twin) -> bool| set.iter().filter(|row| of(&row.1)).count() as u64;
        let (own, free) = (number(|twin| twin.own), number(|twin| !twin.own));
        if own == 0 || free == 0 {
            return;
        }
        let own_met = number(|twin| twin.own && twin.met);
        let free_met = number(|twin| !twin.own && twin.met);
        let tells = own_met + free_met > 0 && own_met + free_met < own + free;
        self.counts += Counts {
            sets: 1,
            own,
            own_met,
            free,
            free_met,
            telling: u64::from(tells),
        };
        if tells {
            let twins = set.iter().map(|row| row.1).collect();
            let telling = Telling { twins, owner: None };
            self.telling.insert((part.clone(), set[0].0), telling);
        }
    }

    /// Names the owners of the pieces of a part, from its table of games.
    ///
    /// # Errors
    ///
    /// Where the table is unreadable or not of its schema.
    pub fn name_owners(&mut self, games: &Part) -> Result<(), AskError> {
        let wanted = self.telling_games(games.id()).collect();
        let owners = owners(games, wanted)?;
        self.name(games.id(), &owners);
        Ok(())
    }

    /// The games of a part that sets which count are from.
    pub fn telling_games<'a>(&'a self, part: &'a PartId) -> impl Iterator<Item = u32> + 'a {
        let here = self.telling.keys().filter(move |(of, _)| of == part);
        here.map(|(_, set)| set.game)
    }

    /// Names the owners of the pieces of a part.
    pub fn name(&mut self, part: &PartId, owners: &Owners) {
        for ((of, set), telling) in &mut self.telling {
            if of == part {
                telling.owner = set.owner(owners);
            }
        }
    }

    /// Adds the sets of other parts.
    pub fn add(&mut self, other: Sets) {
        self.counts += other.counts;
        self.telling.extend(other.telling);
    }

    /// The odds ratio within sets, adjusted for what differs in them.
    pub fn compare(&self, adjusted: Adjusted) -> Twins {
        let mut kept: Vec<usize> = (0..adjusted.covariates().len()).collect();
        // A player's games hold less information than as many games of different players.
        let clustering = if self.telling.values().any(|set| set.owner.is_some()) {
            Clustering::TwoWay
        } else {
            Clustering::OneWay
        };
        let fitted = loop {
            match fit(&self.matched(adjusted, &kept), clustering) {
                // A covariate that never differs within these sets is left out.
                Err(FitError::Collinear { covariate } | FitError::Separated { covariate })
                    if covariate > 0 && covariate <= kept.len() =>
                {
                    kept.remove(covariate - 1);
                }
                other => break other,
            }
        };
        let enough = self.counts.telling >= LEAST;
        Twins {
            adjusted,
            counts: self.counts,
            odds_ratio: Estimate {
                value: fitted.as_ref().ok().map(|fit| fit.ratio(0)),
                jackknife: fitted
                    .as_ref()
                    .ok()
                    .filter(|_| enough)
                    .and_then(|fit| fit.interval(0, LEVEL)),
            },
        }
    }

    fn matched(&self, adjusted: Adjusted, kept: &[usize]) -> MatchedSets {
        let covariates = adjusted.covariates();
        let mut sets = MatchedSets::new(1 + kept.len());
        let mut games: BTreeMap<(&PartId, u32), u32> = BTreeMap::new();
        let mut owners: BTreeMap<Owner<'_>, u32> = BTreeMap::new();
        for ((part, set), Telling { twins, owner }) in &self.telling {
            let next = games.len() as u32;
            let game = *games.entry((part, set.game)).or_insert(next);
            let owner = owner.map_or(Owner::Unknown(part, set.game, set.white), Owner::Named);
            let next = owners.len() as u32;
            let owner = *owners.entry(owner).or_insert(next);
            let met: Vec<bool> = twins.iter().map(|twin| twin.met).collect();
            let values: Vec<f64> = twins
                .iter()
                .flat_map(|twin| {
                    let more = kept.iter().map(|&at| covariates[at](twin));
                    std::iter::once(f64::from(u8::from(twin.own))).chain(more)
                })
                .collect();
            sets.push([game, owner], &met, &values);
        }
        sets
    }
}

/// The players of games: hashes of the names of White and Black; `None` where one has none.
pub type Owners = FxHashMap<u32, [Option<u64>; 2]>;

/// The players of some games of a part, from its table of games.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn owners(games: &Part, wanted: FxHashSet<u32>) -> Result<Owners, DatasetError> {
    if wanted.is_empty() {
        return Ok(Owners::default());
    }
    let of_wanted = games
        .frame()?
        .filter(number_is("game", move |game| {
            wanted.contains(&game.cast_unsigned())
        }))
        .select(["game", "white", "black"].map(col));
    let rows = collect(of_wanted)?;
    let names = |side: &str| Ok::<_, DatasetError>(rows.column(side)?.str()?.iter());
    let names = names("white")?.zip(names("black")?);
    let games = rows.column("game")?.i32()?.iter().flatten();
    let game = games.map(i32::cast_unsigned);
    let owners = game.zip(names).map(|(game, (white, black))| {
        let of = [white, black].map(|name| name.and_then(player));
        (game, of)
    });
    Ok(owners.collect())
}

/// The owner of a set: one whose name is not known is somebody else in every game.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Owner<'a> {
    Named(u64),
    Unknown(&'a PartId, u32, bool),
}

/// Hash of the words of a name, in any order; `None` where it has none.
fn player(name: &str) -> Option<u64> {
    names::player_key(name).map(|words| xxh3_64(words.as_bytes()))
}

impl std::ops::AddAssign for Counts {
    fn add_assign(&mut self, other: Self) {
        self.sets += other.sets;
        self.own += other.own;
        self.own_met += other.own_met;
        self.free += other.free;
        self.free_met += other.free_met;
        self.telling += other.telling;
    }
}

hobble_terms::words! {
    /// What twins are adjusted for.
    Adjusted {
        /// What differs between them before the restraint takes effect: defended, safe squares two
        /// turns before, row and edge of the board.
        Place = "defended, squares before, row and edge",
        /// Nothing.
        Nothing = "nothing",
        /// Not where they stand.
        Before = "defended, squares before",
        /// Attacked now as well, which may follow from the restraint.
        Attacked = "defended, squares before, row and edge, attacked now",
    }
}

/// A covariate of a twin.
type Covariate = fn(&Twin) -> f64;

const DEFENDED: Covariate = |twin| f64::from(u8::from(twin.defended));
const BEFORE: Covariate = |twin| f64::from(twin.before);
const FORWARD: Covariate = |twin| f64::from(twin.forward);
const EDGE: Covariate = |twin| f64::from(u8::from(twin.at_edge));
const ATTACKED: Covariate = |twin| f64::from(u8::from(twin.attacked));

impl Adjusted {
    const fn covariates(self) -> &'static [Covariate] {
        match self {
            Adjusted::Before => &[DEFENDED, BEFORE],
            Adjusted::Nothing => &[],
            Adjusted::Place => &[DEFENDED, BEFORE, FORWARD, EDGE],
            Adjusted::Attacked => &[DEFENDED, BEFORE, FORWARD, EDGE, ATTACKED],
        }
    }
}

/// What comes of twins.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Twins {
    /// What they are adjusted for.
    pub adjusted: Adjusted,
    /// How many there are.
    #[serde(flatten)]
    pub counts: Counts,
    /// Odds of the outcome, the claim's piece against the free one; with an outcome this rare
    /// about the ratio of the shares. Its interval is clustered by games, and by players as well
    /// where their names are known.
    pub odds_ratio: Estimate,
}
