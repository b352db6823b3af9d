//! Example games and quiz positions of a claim, replayed from the table of moves.

use std::collections::{BTreeMap, BTreeSet};

use hobble_terms::Fate;
use hobble_tracks::survey::Survey;
use shakmaty::fen::Fen;
use shakmaty::san::SanPlus;
use shakmaty::{Chess, Color, EnPassantMode, Move, Position, Role, Square};

use super::answer::{ClaimExample, ExampleRole, Quiz, QuizAnswer};
use super::candidates::{Candidate, Candidates};
use super::file::Claim;
use super::held::End;
use hobble_conditions::AskError;
use hobble_conditions::terms::Kind;
use hobble_conditions::words::{self, Wording};
use hobble_dataset::columns::Rows;
use hobble_dataset::{Dataset, Part, PartId};
use hobble_examples::locate::{Place, locate, reference};
use hobble_examples::{GameReference, MoveReference, replay};
use hobble_terms::Table;

/// Games looked at for the quiz, for each position asked for.
const TRIES: usize = 3;

/// A quiz position with more answers than this asks nothing.
const MOST_ANSWERS: usize = 5;

const CLEAREST: &str = "Among spells that an opponent's move began and that met the outcome in time: the most squares taken, then the soonest, then the first in the archive.";
const AVERAGE: &str = "Among spells that an opponent's move began and that met the outcome in time: the nearest to the median of squares taken and of plies to the capture.";
const COUNTER: &str = "Among spells that an opponent's move began and that were freed, the piece never lost: first those whose owner won, then the most squares taken, then the first in the archive.";

type Key = (String, u64);

/// Examples, quiz positions, and notes where something is missing.
pub type Shown = (Vec<ClaimExample>, Vec<Quiz>, Vec<String>);

/// An example chosen: its role, the rule it was chosen by, and the spell.
type Chosen<'a> = (ExampleRole, &'static str, &'a Candidate);

/// Chooses and replays what is shown.
pub fn examples(
    claim: &Claim,
    dataset: &Dataset,
    candidates: &Candidates,
) -> Result<Shown, AskError> {
    for table in [Table::Games, Table::Moves] {
        if !dataset.has(table) {
            let note = format!("No example games are given: the table of {table} was not written.");
            return Ok((Vec::new(), Vec::new(), vec![note]));
        }
    }
    let met = candidates.met();
    let spells = Spells::of(dataset, candidates.parts());
    let chosen = choose(&spells, candidates, &met)?;
    let mut notes = missing(&chosen);
    let asked = positions(&met, &chosen, TRIES * claim.quiz);
    let wanted: BTreeSet<Key> = chosen
        .iter()
        .map(|(_, _, spell)| *spell)
        .chain(asked.iter().copied())
        .map(key)
        .collect();
    let source = Source {
        spells,
        games: locate(dataset, Table::Games, &wanted)?,
        moves: locate(dataset, Table::Moves, &wanted)?,
    };
    let examples = chosen
        .into_iter()
        .map(|(role, rule, spell)| source.example(role, rule, spell))
        .collect::<Result<_, _>>()?;
    let mut quiz = Vec::new();
    for spell in asked {
        if quiz.len() == claim.quiz {
            break;
        }
        let question = source.quiz(claim, spell)?;
        if question.answers.len() <= MOST_ANSWERS {
            quiz.push(question);
        }
    }
    if quiz.len() < claim.quiz {
        notes.push(format!(
            "The quiz has {} of the {} positions asked for: the others found have more than {MOST_ANSWERS} right answers, or there are none.",
            quiz.len(),
            claim.quiz
        ));
    }
    Ok((examples, quiz, notes))
}

/// The example games, each by its rule.
fn choose<'a>(
    spells: &Spells,
    candidates: &'a Candidates,
    met: &[&'a Candidate],
) -> Result<Vec<Chosen<'a>>, AskError> {
    let mut chosen: Vec<Chosen<'a>> = Vec::new();
    if let Some(spell) = met.first() {
        chosen.push((ExampleRole::Clearest, CLEAREST, spell));
    }
    if let Some(spell) = candidates.average() {
        chosen.push((ExampleRole::Average, AVERAGE, spell));
    }
    let won = owner_won(spells, candidates.freed())?;
    if let Some(spell) = won.or_else(|| candidates.freed().first()) {
        chosen.push((ExampleRole::CounterExample, COUNTER, spell));
    }
    Ok(chosen)
}

/// Notes on the examples that are missing.
fn missing(chosen: &[Chosen<'_>]) -> Vec<String> {
    [
        (
            ExampleRole::Clearest,
            "in no game did an opponent's move hold a piece so that then met the outcome",
        ),
        (
            ExampleRole::Average,
            "there is no second game to choose from",
        ),
        (
            ExampleRole::CounterExample,
            "no piece held so by an opponent's move was freed",
        ),
    ]
    .into_iter()
    .filter(|(role, _)| !chosen.iter().any(|(other, ..)| other == role))
    .map(|(role, what)| format!("No {role} game is shown: {what}."))
    .collect()
}

/// Spells for the quiz: the clearest of each game that is not shown already.
fn positions<'a>(met: &[&'a Candidate], chosen: &[Chosen<'a>], most: usize) -> Vec<&'a Candidate> {
    let mut seen: BTreeSet<(&PartId, u64)> = chosen
        .iter()
        .map(|(_, _, spell)| (&spell.part, spell.game))
        .collect();
    let mut asked = Vec::new();
    for spell in met {
        if asked.len() == most {
            break;
        }
        if seen.insert((&spell.part, spell.game)) {
            asked.push(*spell);
        }
    }
    asked
}

fn key(spell: &Candidate) -> Key {
    (spell.part.source.clone(), spell.game)
}

/// The files of the table of spells that candidates stand in.
struct Spells(BTreeMap<PartId, Part>);

impl Spells {
    fn of<'a>(dataset: &Dataset, ids: impl Iterator<Item = &'a PartId>) -> Spells {
        let ids: BTreeSet<&PartId> = ids.collect();
        let part = |id: &PartId| Some((id.clone(), dataset.part(Table::Spells, id)?));
        Spells(ids.into_iter().filter_map(part).collect())
    }

    /// Some columns of a candidate's row.
    fn row(&self, spell: &Candidate, columns: &[&str]) -> Result<Rows, AskError> {
        let part = self.0.get(&spell.part).ok_or_else(|| {
            AskError::bad_table(Table::Spells, format!("{} is missing", spell.part))
        })?;
        Ok(part.read_row(columns, spell.row)?)
    }
}

/// The first whose owner won.
fn owner_won<'a>(
    spells: &Spells,
    freed: &'a [Candidate],
) -> Result<Option<&'a Candidate>, AskError> {
    for spell in freed {
        let row = spells.row(spell, &["owner_result"])?;
        if row.first_text("owner_result")? == "win" {
            return Ok(Some(spell));
        }
    }
    Ok(None)
}

/// Games and moves of the spells that are shown.
struct Source {
    spells: Spells,
    games: BTreeMap<Key, Place>,
    moves: BTreeMap<Key, Place>,
}

/// A game played through, with what a spell needs of it.
struct Walk {
    game: GameReference,
    start_fen: Option<String>,
    color: Color,
    square: Square,
    before: Chess,
    after: Chess,
    cause: MoveReference,
    ended: Option<MoveReference>,
    captured: Option<MoveReference>,
    moves: Vec<String>,
}

impl Source {
    fn walk(&self, spell: &Candidate) -> Result<Walk, AskError> {
        let key = key(spell);
        let missing = |table| {
            AskError::bad_table(
                table,
                format!("game {} of {} has spells but is not there", key.1, key.0),
            )
        };
        let place = self.games.get(&key).ok_or_else(|| missing(Table::Games))?;
        let (game, start_fen) = reference(place)?;
        let place = self.moves.get(&key).ok_or_else(|| missing(Table::Moves))?;
        let plies = replay::read_moves(place)?;
        let bad =
            |what: String| AskError::bad_table(Table::Moves, format!("{what}, in {}", game.label));
        let square = self.spells.row(spell, &["square"])?.first_text("square")?;
        let square = Square::from_ascii(square.as_bytes())
            .map_err(|_| bad(format!("invalid square \"{square}\"")))?;
        let mut position = replay::start(start_fen.as_deref())
            .ok_or_else(|| bad("the start position cannot be played from".to_owned()))?;
        let (mut before, mut after, mut cause, mut ended, mut captured) =
            (None, None, None, None, None);
        let mut moves = Vec::with_capacity(plies.len());
        for (number, ply) in (1..).zip(&plies) {
            let played = replay::find(&position, ply)
                .ok_or_else(|| bad(format!("ply {number} is not legal")))?;
            let shown = || replay::reference(&position, played, number, ply);
            if number == spell.start {
                before = Some(position.clone());
                cause = Some(shown());
            }
            if number == spell.end_ply && spell.end != End::GameOver {
                ended = Some(shown());
            }
            if number == spell.fate_ply && spell.fate != Fate::Survived {
                captured = Some(shown());
            }
            moves.push(SanPlus::from_move_and_play_unchecked(&mut position, played).to_string());
            if number == spell.start {
                after = Some(position.clone());
            }
        }
        let (Some(before), Some(after), Some(cause)) = (before, after, cause) else {
            return Err(bad(format!("the game has no ply {}", spell.start)));
        };
        Ok(Walk {
            start_fen,
            color: Color::from_white(spell.white),
            square,
            before,
            after,
            cause,
            ended,
            captured,
            moves,
            game,
        })
    }

    fn example(
        &self,
        role: ExampleRole,
        rule: &str,
        spell: &Candidate,
    ) -> Result<ClaimExample, AskError> {
        let walk = self.walk(spell)?;
        let safe = |position: &Chess| safe_squares(position, walk.square, walk.color, spell.kind);
        let (Some(safe_before), Some(safe_after)) = (safe(&walk.before), safe(&walk.after)) else {
            return Err(AskError::bad_table(
                Table::Moves,
                format!(
                    "no {} stands on {}, in {}",
                    spell.kind, walk.square, walk.game.label
                ),
            ));
        };
        let taken: Vec<String> = safe_before
            .iter()
            .filter(|square| !safe_after.contains(square))
            .cloned()
            .collect();
        let Words {
            did,
            end,
            fate,
            held,
        } = in_words(&walk, spell, &safe_after, &taken);
        let (kind, square) = (spell.kind, walk.square);
        let caption = |end: &str| {
            format!(
                "{did} That lasted {held}. {end}{fate} Result: {}.",
                walk.game.result
            )
        };
        let shown = caption(&end_in_words(&walk, spell, Wording::Reader));
        let caption = caption(&end);
        let mut comments = vec![(walk.cause.ply, did)];
        if let Some(ended) = &walk.ended {
            comments.push((ended.ply, format!("{end} It was held for {held}.")));
        }
        if let Some(captured) = walk.captured.as_ref().filter(|_| spell.end.freed()) {
            comments.push((captured.ply, fate.trim().to_owned()));
        }
        Ok(ClaimExample {
            role,
            rule: rule.to_owned(),
            start_fen: walk.start_fen,
            kind,
            color: if spell.white { "white" } else { "black" }.to_owned(),
            square: square.to_string(),
            fen_before: fen(&walk.before),
            fen_after: fen(&walk.after),
            cause: walk.cause,
            ended: walk.ended,
            captured: walk.captured,
            safe_before,
            safe_after,
            taken,
            caption,
            shown,
            moves: walk.moves,
            comments,
            game: walk.game,
        })
    }

    fn quiz(&self, claim: &Claim, spell: &Candidate) -> Result<Quiz, AskError> {
        let walk = self.walk(spell)?;
        let mut answers = Vec::new();
        for legal in walk.before.legal_moves() {
            if legal.to() == walk.square && !legal.is_castle() {
                continue;
            }
            let mut after = walk.before.clone();
            after.play_unchecked(legal);
            let Some(safe) = safe_squares(&after, walk.square, walk.color, spell.kind) else {
                continue;
            };
            if safe.len() > usize::from(claim.k) {
                continue;
            }
            let san = SanPlus::from_move(walk.before.clone(), legal).to_string();
            let dots = if walk.before.turn().is_white() {
                ". "
            } else {
                "..."
            };
            let label = format!("{}{dots}{san}", walk.before.fullmoves());
            let (from, to) = ends_of(legal, walk.before.turn());
            answers.push(QuizAnswer {
                played: label == walk.cause.label,
                label,
                from,
                to,
                safe,
            });
        }
        answers.sort_by(|a, b| (!a.played, &a.label).cmp(&(!b.played, &b.label)));
        Ok(Quiz {
            fen: fen(&walk.before),
            to_move: if spell.white { "black" } else { "white" }.to_owned(),
            kind: spell.kind,
            square: walk.square.to_string(),
            safe: safe_squares(&walk.before, walk.square, walk.color, spell.kind)
                .unwrap_or_default(),
            answers,
            game: walk.game,
        })
    }
}

/// What happened to a spell, in words.
struct Words {
    /// What the restraining move did.
    did: String,
    /// How the spell ended.
    end: String,
    /// What became of the piece later, with a space before it; empty where that is its end.
    fate: String,
    /// How long it lasted.
    held: String,
}

/// The piece's owner and the other side.
const fn names(spell: &Candidate) -> (&'static str, &'static str) {
    if spell.white {
        ("White", "Black")
    } else {
        ("Black", "White")
    }
}

/// How the spell ended, in a sentence.
fn end_in_words(walk: &Walk, spell: &Candidate, wording: Wording) -> String {
    let Some(ended) = &walk.ended else {
        return "It was still held when the game ended.".to_owned();
    };
    let (owner, other) = names(spell);
    let label = &ended.label;
    match spell.end {
        End::MovedAway => format!("{owner} freed it by moving it away, {label}."),
        End::FreedByOwnMove => format!("{owner} freed it by {label}."),
        End::FreedByOpponent if wording == Wording::Reader => {
            format!("{label} gave it squares again.")
        }
        End::FreedByOpponent => format!("{other} let it go with {label}."),
        end => format!(
            "It was {} by {label}.",
            end.in_words().split(' ').next().unwrap_or_default()
        ),
    }
}

fn in_words(walk: &Walk, spell: &Candidate, safe: &[String], taken: &[String]) -> Words {
    let (_, other) = names(spell);
    let left = match safe {
        [] => "no safe square is left".to_owned(),
        [one] => format!("only {one} is left"),
        _ => format!("only {} are left", words::list(safe)),
    };
    let did = format!(
        "{other}'s {} takes {} from the {} on {}: {left}.",
        walk.cause.label,
        words::list(taken),
        spell.kind,
        walk.square
    );
    let fate = match (&walk.captured, spell.fate) {
        (Some(captured), fate) if spell.end.freed() => {
            let how = match fate {
                Fate::Lost => "lost",
                Fate::Traded => "traded",
                Fate::Sold | Fate::Survived => "sold for more than its value",
            };
            format!(" Later it was {how} by {}.", captured.label)
        }
        (None, _) if spell.end.freed() => " It was never captured.".to_owned(),
        _ => String::new(),
    };
    Words {
        did,
        end: end_in_words(walk, spell, Wording::Kept),
        fate,
        held: words::counted(u64::from(spell.turns), "turn"),
    }
}

/// Squares a move leaves and reaches; for castling the king's.
fn ends_of(played: Move, turn: Color) -> (String, String) {
    let to = played
        .castling_side()
        .map_or(played.to(), |side| side.king_to(turn));
    let from = played.from().unwrap_or(to);
    (from.to_string(), to.to_string())
}

fn fen(position: &Chess) -> String {
    Fen::from_position(position, EnPassantMode::Legal).to_string()
}

/// Safe squares of the piece; `None` where it does not stand there.
fn safe_squares(position: &Chess, square: Square, color: Color, kind: Kind) -> Option<Vec<String>> {
    let role = match kind {
        Kind::Knight => Role::Knight,
        Kind::Bishop => Role::Bishop,
        Kind::Rook => Role::Rook,
        Kind::Queen => Role::Queen,
    };
    let survey = Survey::of(position);
    let unit = survey
        .unit(square)
        .filter(|unit| unit.kind == role && unit.color == color)?;
    Some(
        unit.safe
            .into_iter()
            .map(|square| square.to_string())
            .collect(),
    )
}
