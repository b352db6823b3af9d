//! What each piece went through, stretch by stretch.

use hobble_terms::{By, CauseKind, Fate};
use hobble_tracks::roster::Slot;
use hobble_tracks::sight::is_piece;
use hobble_tracks::spell::{End, Spell};
use shakmaty::{Color, Position as _, Role, Square};

use crate::follow::{Being, Followed};

/// Turns after which a restrained piece is shut out (definitions, section 6).
pub const SHUT_OUT: usize = 8;

/// How a piece stands at a turn of its owner.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum State {
    /// It has not left its first square, nor was it born elsewhere (not developed).
    AtHome,
    /// It has more than k safe squares.
    Free,
    /// It has k safe squares or fewer, but is not restrained.
    Held,
    /// It is restrained for less than [`SHUT_OUT`] turns.
    Restrained,
    /// It is restrained for [`SHUT_OUT`] turns or more.
    ShutOut,
}

impl State {
    /// All states.
    pub const ALL: [State; 5] = [
        State::AtHome,
        State::Free,
        State::Held,
        State::Restrained,
        State::ShutOut,
    ];

    /// What it is called.
    pub const fn name(self) -> &'static str {
        match self {
            State::AtHome => "at home",
            State::Free => "free",
            State::Held => "held",
            State::Restrained => "restrained",
            State::ShutOut => "shut out",
        }
    }

    /// Whether a restraint stands behind it.
    pub const fn is_restraint(self) -> bool {
        matches!(self, State::Restrained | State::ShutOut)
    }
}

/// Consecutive turns of its owner at which a piece stands alike.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// How it stands.
    pub state: State,
    /// Position of the first turn.
    pub first: usize,
    /// Position of the last turn.
    pub last: usize,
    /// Number of turns.
    pub turns: usize,
    /// The spell it is a part of, by its place in [`Followed::spells`].
    pub spell: Option<usize>,
    /// What began it.
    pub began: String,
    /// What ended it.
    pub ended: String,
}

/// What a knight, bishop, rook or queen went through.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The piece.
    pub slot: Slot,
    /// Its kind.
    pub kind: Role,
    /// Its owner.
    pub color: Color,
    /// Where it stood first.
    pub first: Square,
    /// First position with it.
    pub birth: usize,
    /// Last position with it, or the game's last.
    pub until: usize,
    /// The stretches in order.
    pub stretches: Vec<Stretch>,
    /// What became of it.
    pub fate: Fate,
    /// Ply of its capture.
    pub fate_ply: Option<usize>,
}

/// Whether a spell holds for a k.
pub fn holds_for(spell: &Spell, k: u8) -> bool {
    spell.k_low <= k && k <= spell.k_high
}

/// The restrained spells at k in the order of their starts, by their places.
pub fn restraints(game: &Followed, k: u8) -> Vec<usize> {
    let mut found: Vec<usize> = (0..game.spells.len())
        .filter(|&nth| {
            let spell = &game.spells[nth];
            holds_for(spell, k) && spell.is_restrained()
        })
        .collect();
    found.sort_by_key(|&nth| (game.spells[nth].start, game.spells[nth].slot));
    found
}

/// Whether a restrained spell is long enough to shut its piece out.
pub fn is_shut_out(spell: &Spell) -> bool {
    spell.is_restrained() && usize::from(spell.turns) >= SHUT_OUT
}

/// The lines of all pieces: White's, then Black's, each by first position and square.
pub fn lines(game: &Followed, k: u8) -> Vec<Line> {
    let mut lines: Vec<Line> = (0..game.beings.len())
        .filter(|&nth| is_piece(game.beings[nth].kind))
        .map(|nth| line(game, nth as Slot, k))
        .collect();
    lines.sort_by_key(|line| {
        let side = line.color.fold_wb(0, 1);
        (side, line.birth, line.first.file(), line.slot)
    });
    lines
}

fn line(game: &Followed, slot: Slot, k: u8) -> Line {
    let being = &game.beings[usize::from(slot)];
    let last = game.positions.len() - 1;
    let until = being.gone.map_or(last, |ply| ply - 1);
    let spells: Vec<usize> = (0..game.spells.len())
        .filter(|&nth| game.spells[nth].slot == slot && holds_for(&game.spells[nth], k))
        .collect();
    let mut stretches: Vec<Stretch> = Vec::new();
    for turn in being.birth..=until.min(last.saturating_sub(1)) {
        if turn == last || game.positions[turn].chess.turn() != being.color {
            continue;
        }
        let spell = spells.iter().copied().find(|&nth| {
            let spell = &game.spells[nth];
            let start = usize::from(spell.start);
            (start..=last_turn(spell)).contains(&turn)
        });
        let state = state(game, being, spell, turn);
        let spell = spell.filter(|_| state != State::AtHome);
        match stretches.last_mut() {
            Some(open) if open.state == state && open.spell == spell => {
                open.last = turn;
                open.turns += 1;
            }
            _ => stretches.push(Stretch {
                state,
                first: turn,
                last: turn,
                turns: 1,
                spell,
                began: String::new(),
                ended: String::new(),
            }),
        }
    }
    fill_in_words(game, being, &mut stretches);
    Line {
        slot,
        kind: being.kind,
        color: being.color,
        first: being.first,
        birth: being.birth,
        until,
        stretches,
        fate: being.capture.map_or(Fate::Survived, |capture| capture.fate),
        fate_ply: being.capture.map(|capture| usize::from(capture.ply)),
    }
}

/// Position of the last turn of a spell.
pub fn last_turn(spell: &Spell) -> usize {
    usize::from(spell.start) + 2 * (usize::from(spell.turns) - 1)
}

fn state(game: &Followed, being: &Being, spell: Option<usize>, turn: usize) -> State {
    let spell = spell.map(|nth| &game.spells[nth]);
    let developed = being.developed.is_some_and(|position| position <= turn);
    match spell {
        Some(spell) if is_shut_out(spell) => State::ShutOut,
        Some(spell) if spell.is_restrained() => State::Restrained,
        _ if !developed => State::AtHome,
        Some(_) => State::Held,
        None => State::Free,
    }
}

/// Says what began and ended each stretch.
fn fill_in_words(game: &Followed, being: &Being, stretches: &mut [Stretch]) {
    let mut words = match stretches.first().and_then(|first| first.spell) {
        Some(nth) if being.birth == 0 => cause(game, &game.spells[nth]),
        _ if being.birth == 0 => "from the start".to_owned(),
        _ => format!("born by {}", game.label(being.birth)),
    };
    for nth in 0..stretches.len() {
        stretches[nth].began = words;
        words = match stretches.get(nth + 1) {
            Some(next) => border(game, being, &stretches[nth], next),
            None => end_of_line(game, being),
        };
        stretches[nth].ended.clone_from(&words);
    }
}

/// What happened between two stretches.
fn border(game: &Followed, being: &Being, one: &Stretch, next: &Stretch) -> String {
    if one.state == State::AtHome
        && next.state != State::AtHome
        && let Some(ply) = being.developed
    {
        return format!("{} brought it out", game.label(ply));
    }
    if let Some(nth) = next.spell
        && one.spell != next.spell
    {
        return cause(game, &game.spells[nth]);
    }
    one.spell
        .map_or_else(String::new, |nth| release(game, &game.spells[nth]))
}

/// What restricted a piece.
pub fn cause(game: &Followed, spell: &Spell) -> String {
    let Some(ply) = spell.cause.ply else {
        return "from the start".to_owned();
    };
    let label = game.label(usize::from(ply.ply));
    match spell.cause.kind {
        CauseKind::Undeveloped => "from the start".to_owned(),
        CauseKind::Taken => format!("{label} took squares from it"),
        CauseKind::Pinned => format!("{label} left it pinned"),
        CauseKind::Entered => format!("it went there with {label}"),
        CauseKind::Blocked => format!("{label} of its own side left it few squares"),
    }
}

/// What gave a piece squares again, or how else its spell ended.
pub fn release(game: &Followed, spell: &Spell) -> String {
    let label = game.label(usize::from(spell.end_ply));
    match spell.end {
        End::Freed {
            moved_away: Some(true),
            ..
        } => format!("it got out with {label}"),
        End::Freed { by: By::Own, .. } => format!("{label} of its own side freed it"),
        End::Freed { .. } => format!("{label} of the other side gave it squares again"),
        End::Captured => format!("captured by {label}"),
        End::GameOver => "to the end of the game".to_owned(),
    }
}

fn end_of_line(game: &Followed, being: &Being) -> String {
    match being.capture {
        Some(capture) => {
            let label = game.label(usize::from(capture.ply));
            match capture.fate {
                Fate::Lost => format!("lost to {label}"),
                Fate::Sold => format!("sold: {label} took it"),
                _ => format!("traded: {label} took it"),
            }
        }
        None => "to the end of the game".to_owned(),
    }
}
