//! The moves that mattered, chosen by rules.

use hobble_terms::{Fate, GameResult, value};
use hobble_tracks::roster::Slot;
use hobble_tracks::sight::is_piece;
use hobble_tracks::spell::{End, Spell};
use shakmaty::{Bitboard, Chess, Color, Square};

use crate::chances::{Chance, missed};
use crate::follow::Followed;
use crate::lines::restraints;
use crate::sentences;
use crate::tries::{Change, Tried};

/// Fewest moments, where the game has so many moves that took squares.
const FEWEST: usize = 5;
/// Most moments.
const MOST: usize = 10;
/// Fewest squares a move must take from pieces to count among those that took most.
const FEWEST_TAKEN: usize = 2;

/// Why a move matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// It restrained two pieces or more.
    TwoAtOnce,
    /// It began the longest restraint of a side's piece.
    Longest,
    /// It broke a restraint.
    Broken,
    /// A quiet move that would have restrained a piece was left out.
    Missed,
    /// It won the last piece that was lost.
    Lost,
    /// A quiet move that took the most squares.
    MostTaken,
}

impl Rule {
    /// All rules, in the order in which they choose.
    pub const ALL: [Rule; 6] = [
        Rule::TwoAtOnce,
        Rule::Longest,
        Rule::Broken,
        Rule::Missed,
        Rule::Lost,
        Rule::MostTaken,
    ];

    /// What a move chosen by it is called.
    pub const fn name(self) -> &'static str {
        match self {
            Rule::TwoAtOnce => "Two pieces at once",
            Rule::Longest => "The longest restraint",
            Rule::Broken => "A restraint broken",
            Rule::Missed => "A chance missed",
            Rule::Lost => "The last piece lost",
            Rule::MostTaken => "Most squares taken",
        }
    }

    /// How it chooses.
    pub const fn text(self) -> &'static str {
        match self {
            Rule::TwoAtOnce => {
                "A quiet move that restrained two pieces or more; of several, the two that \
                 restrained the most pieces, then the earlier."
            }
            Rule::Longest => {
                "For each side, the move that began the longest restraint of one of its pieces."
            }
            Rule::Broken => {
                "The two longest restraints that ended because the piece had squares again, at \
                 the move that gave them."
            }
            Rule::Missed => {
                "For each side, the turn at which a quiet move that gives nothing away would have \
                 restrained a developed enemy piece, taking two safe squares from it or leaving it \
                 none, with two replies at most that free it at once, while another quiet move was played and the piece was not restrained by \
                 that or by the next move either. Of several, the one that leaves the fewest safe \
                 squares, then the one with the fewest replies that free the piece at once."
            }
            Rule::Lost => {
                "The last knight, bishop, rook or queen lost by the side that lost the game; by \
                 either side in any other game."
            }
            Rule::MostTaken => {
                "For each side, the quiet move that took the most safe squares from developed \
                 knights, bishops, rooks and queens of the other side, two at least; more of \
                 them until there are five moves."
            }
        }
    }
}

/// A board to show.
#[derive(Clone, Debug)]
pub struct Shown {
    /// The position.
    pub chess: Chess,
    /// Squares to ring.
    pub ringed: Vec<Square>,
    /// Safe squares of the ringed pieces, to be dotted; `None` where they are not shown.
    pub safe: Option<Bitboard>,
    /// Squares taken from them, to be crossed.
    pub taken: Bitboard,
    /// The move.
    pub arrow: Option<(Square, Square)>,
}

/// A move that mattered.
#[derive(Clone, Debug)]
pub struct Moment {
    /// Its ply; for a chance missed the ply played instead.
    pub ply: usize,
    /// Why it matters.
    pub rules: Vec<Rule>,
    /// The move shown, with its number.
    pub label: String,
    /// What happened, one sentence or two.
    pub text: String,
    /// The position before it.
    pub before: Shown,
    /// The position after it.
    pub after: Shown,
}

/// The moves that mattered in a game at k, in order. `tries` are the moves tried at each
/// position, `chances` the turns at which a piece could be restrained.
pub fn moments(game: &Followed, tries: &[Vec<Tried>], chances: &[Chance], k: u8) -> Vec<Moment> {
    let restraints: Vec<&Spell> = restraints(game, k)
        .into_iter()
        .map(|nth| &game.spells[nth])
        .collect();
    let mut chosen = Chosen {
        game,
        moments: Vec::new(),
    };
    for group in groups(&restraints) {
        chosen.add_restraint(Rule::TwoAtOnce, group);
    }
    for color in Color::ALL {
        if let Some(longest) = longest(restraints.iter().filter(|spell| spell.color == color)) {
            // The whole group, so that a move that restrained two pieces says so.
            let group: Vec<&Spell> = restraints
                .iter()
                .copied()
                .filter(|spell| spell.start == longest.start && spell.color == color)
                .collect();
            chosen.add_restraint(Rule::Longest, group);
        }
    }
    for spell in broken(&restraints) {
        chosen.add_broken(spell);
    }
    let missed = missed(game, chances, k);
    for color in [Color::White, Color::Black] {
        let own = missed
            .iter()
            .filter(|chance| game.plies[chance.position].side == color);
        if let Some(chance) = own.min_by_key(|chance| (chance.rank(), chance.slot)) {
            chosen.add_missed(chance, &tries[chance.position]);
        }
    }
    if let Some((slot, ply)) = last_lost(game) {
        chosen.add_lost(slot, ply);
    }
    let most = most_taken(game, tries);
    for color in [Color::White, Color::Black] {
        if let Some(&ply) = most.iter().find(|&&ply| side_of(game, ply) == color) {
            chosen.add_most_taken(ply, tries);
        }
    }
    for ply in most {
        if chosen.moments.len() >= FEWEST {
            break;
        }
        chosen.add_most_taken(ply, tries);
    }
    let mut moments = chosen.moments;
    moments.sort_by_key(|moment| moment.ply);
    moments
}

fn side_of(game: &Followed, ply: usize) -> Color {
    game.plies[ply - 1].side
}

/// Plies that restrained two pieces or more: the two that restrained most.
fn groups<'a>(restraints: &[&'a Spell]) -> Vec<Vec<&'a Spell>> {
    let mut groups: Vec<Vec<&Spell>> = Vec::new();
    for &spell in restraints {
        match groups.last_mut() {
            Some(group) if group[0].start == spell.start => group.push(spell),
            _ => groups.push(vec![spell]),
        }
    }
    groups.retain(|group| group.len() > 1);
    groups.sort_by_key(|group| std::cmp::Reverse(group.len()));
    groups.truncate(2);
    groups
}

/// The longest restraint, the earliest of several.
fn longest<'a>(spells: impl Iterator<Item = &'a &'a Spell>) -> Option<&'a Spell> {
    spells
        .copied()
        .min_by_key(|spell| (std::cmp::Reverse(spell.turns), spell.start, spell.slot))
}

/// The two longest restraints that were broken.
fn broken<'a>(restraints: &[&'a Spell]) -> Vec<&'a Spell> {
    let mut broken: Vec<&Spell> = restraints
        .iter()
        .copied()
        .filter(|spell| matches!(spell.end, End::Freed { .. }))
        .collect();
    broken.sort_by_key(|spell| (std::cmp::Reverse(spell.turns), spell.start, spell.slot));
    broken.truncate(2);
    broken
}

/// The last piece lost, with the ply of its capture.
fn last_lost(game: &Followed) -> Option<(Slot, usize)> {
    let loser = match game.heading.result {
        GameResult::White => Some(Color::Black),
        GameResult::Black => Some(Color::White),
        _ => None,
    };
    game.captures
        .iter()
        .rev()
        .find(|(victim, capture)| {
            is_piece(victim.kind)
                && capture.fate == Fate::Lost
                && loser.is_none_or(|loser| victim.color == loser)
        })
        .map(|(victim, _)| (victim.slot, usize::from(victim.ply)))
}

/// Quiet plies by the squares they took from developed pieces, most first, the earlier of equals
/// first.
fn most_taken(game: &Followed, tries: &[Vec<Tried>]) -> Vec<usize> {
    let mut plies: Vec<(usize, usize)> = (1..=game.plies.len())
        .filter(|&ply| game.plies[ply - 1].facts.is_quiet())
        .filter_map(|ply| {
            let taken = changes_of(game, tries, ply)?
                .iter()
                .filter(|change| is_developed_enemy(game, ply, change.slot))
                .map(|change| change.taken.count())
                .sum();
            (taken >= FEWEST_TAKEN).then_some((taken, ply))
        })
        .collect();
    plies.sort_by_key(|&(taken, ply)| (std::cmp::Reverse(taken), ply));
    plies.into_iter().map(|(_, ply)| ply).collect()
}

/// Whether a unit is a developed knight, bishop, rook or queen of the side that a ply was played
/// against.
fn is_developed_enemy(game: &Followed, ply: usize, slot: Slot) -> bool {
    let being = &game.beings[usize::from(slot)];
    is_piece(being.kind)
        && being.color != side_of(game, ply)
        && being.developed.is_some_and(|since| since < ply)
}

/// What a ply that was played changed for each unit.
fn changes_of<'a>(game: &Followed, tries: &'a [Vec<Tried>], ply: usize) -> Option<&'a [Change]> {
    let played = game.plies[ply - 1].played;
    let tried = tries[ply - 1].iter().find(|tried| tried.played == played)?;
    Some(&tried.changes)
}

/// The moments chosen so far.
struct Chosen<'a> {
    game: &'a Followed,
    moments: Vec<Moment>,
}

impl Chosen<'_> {
    /// Adds a moment. A ply stands once: where another rule has chosen it for the same board,
    /// this one is added to it.
    fn add(&mut self, moment: Moment) {
        let same = |other: &Moment| other.ply == moment.ply && other.label == moment.label;
        let Some(at) = self.moments.iter().position(same) else {
            if self.moments.len() < MOST {
                self.moments.push(moment);
            }
            return;
        };
        let (other, rule) = (&mut self.moments[at], moment.rules[0]);
        if other.rules.contains(&rule) {
            return;
        }
        other.rules.push(rule);
        if rule != Rule::MostTaken && other.text != moment.text {
            other.text.push(' ');
            other.text.push_str(&moment.text);
        }
    }

    /// Boards before and after a ply, with these pieces ringed.
    fn boards(&self, ply: usize, slots: &[Slot]) -> (Shown, Shown) {
        let game = self.game;
        let (one, other) = (ply - 1, ply);
        let safe = |position: usize| {
            slots.iter().fold(Bitboard::EMPTY, |all, &slot| {
                all | game.safe_at(slot, position)
            })
        };
        let ringed = |position: usize| {
            slots
                .iter()
                .filter_map(|&slot| game.positions[position].unit(slot))
                .map(|unit| unit.square)
                .collect::<Vec<_>>()
        };
        let stayed = ringed(one) == ringed(other);
        let taken = slots.iter().fold(Bitboard::EMPTY, |all, &slot| {
            all | (game.safe_at(slot, one) & !game.safe_at(slot, other))
        });
        let before = Shown {
            chess: game.positions[one].chess.clone(),
            ringed: ringed(one),
            safe: Some(safe(one)),
            taken: Bitboard::EMPTY,
            arrow: None,
        };
        let facts = &game.plies[one].facts;
        let after = Shown {
            chess: game.positions[other].chess.clone(),
            ringed: ringed(other),
            safe: (!ringed(other).is_empty()).then(|| safe(other)),
            taken: if stayed {
                taken & !safe(other)
            } else {
                Bitboard::EMPTY
            },
            arrow: Some((facts.from, facts.to)),
        };
        (before, after)
    }

    fn add_restraint(&mut self, rule: Rule, group: Vec<&Spell>) {
        let Some(ply) = group.first().and_then(|spell| spell.cause.ply) else {
            return;
        };
        let ply = usize::from(ply.ply);
        let slots: Vec<Slot> = group.iter().map(|spell| spell.slot).collect();
        let (before, after) = self.boards(ply, &slots);
        self.add(Moment {
            ply,
            rules: vec![rule],
            label: self.game.label(ply).to_owned(),
            text: sentences::restrained(self.game, ply, &group),
            before,
            after,
        });
    }

    fn add_broken(&mut self, spell: &Spell) {
        let ply = usize::from(spell.end_ply);
        let (before, after) = self.boards(ply, &[spell.slot]);
        self.add(Moment {
            ply,
            rules: vec![Rule::Broken],
            label: self.game.label(ply).to_owned(),
            text: sentences::broken(self.game, spell),
            before,
            after,
        });
    }

    fn add_missed(&mut self, chance: &Chance, tries: &[Tried]) {
        let Some(answer) = chance.answers.first() else {
            return;
        };
        let tried = &tries[answer.tried];
        let ply = chance.position + 1;
        let left = &answer.left;
        let before = Shown {
            chess: self.game.positions[chance.position].chess.clone(),
            ringed: vec![chance.square],
            safe: Some(left.before),
            taken: Bitboard::EMPTY,
            arrow: None,
        };
        let after = Shown {
            chess: tried.after.clone(),
            ringed: vec![chance.square],
            safe: Some(left.after),
            taken: left.before & !left.after,
            arrow: Some((tried.from, tried.to)),
        };
        self.add(Moment {
            ply,
            rules: vec![Rule::Missed],
            label: tried.label.clone(),
            text: sentences::missed(self.game, chance, tried, answer),
            before,
            after,
        });
    }

    fn add_lost(&mut self, slot: Slot, ply: usize) {
        let (before, after) = self.boards(ply, &[slot]);
        self.add(Moment {
            ply,
            rules: vec![Rule::Lost],
            label: self.game.label(ply).to_owned(),
            text: sentences::lost(self.game, slot, ply),
            before,
            after,
        });
    }

    fn add_most_taken(&mut self, ply: usize, tries: &[Vec<Tried>]) {
        let game = self.game;
        let played = &game.plies[ply - 1];
        let Some(changes) = changes_of(game, tries, ply) else {
            return;
        };
        // The piece that lost most.
        let slot = changes
            .iter()
            .filter(|change| is_developed_enemy(game, ply, change.slot))
            .max_by_key(|change| {
                let worth = value(game.beings[usize::from(change.slot)].kind);
                (change.taken.count(), worth, std::cmp::Reverse(change.slot))
            })
            .map(|change| change.slot);
        let slots: Vec<Slot> = slot.into_iter().collect();
        let (before, after) = self.boards(ply, &slots);
        self.add(Moment {
            ply,
            rules: vec![Rule::MostTaken],
            label: played.label.clone(),
            text: sentences::most_taken(game, ply, changes),
            before,
            after,
        });
    }
}
