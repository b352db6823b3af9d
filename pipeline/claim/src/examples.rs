//! Which games a claim shows: the clearest, a typical one and a counter-example, or more of
//! them, chosen from the candidates on the board.

use std::collections::{BTreeMap, BTreeSet};

use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_examples::locate::{Place, locate};
use hobble_examples::rule::{self, Fault};
use hobble_examples::{Course, Played, Restraint};
use hobble_terms::Table;

use super::answer::{ClaimExample, ExampleRole, Quiz};
use super::candidates::{Candidates, Middle};
use super::file::Claim;
use super::shown::{self, Chosen};
use super::task;

/// Candidates looked at on the board before the search for more is given up.
const MOST_TRIED: usize = 400;

/// Clear losses looked for before the clearest of them is taken.
const COMPARED: usize = 24;

/// Examples on a page and a handout: the clearest, a typical one, a counter-example.
const ON_A_PAGE: usize = 3;

/// Examples, quiz positions, and notes where something is missing.
pub type Shown = (Vec<ClaimExample>, Vec<Quiz>, Vec<String>);

/// Chooses and replays what a page and a handout show.
pub fn examples(
    claim: &Claim,
    dataset: &Dataset,
    candidates: &Candidates,
) -> Result<Shown, AskError> {
    let mut search = match Search::new(dataset, claim, candidates)? {
        Ok(search) => search,
        Err(note) => return Ok((Vec::new(), Vec::new(), vec![note])),
    };
    let losses = search.losses(candidates, COMPARED)?;
    let examples = search.choose(candidates, &losses, ON_A_PAGE)?;
    let shown = |role| examples.iter().any(|example: &ClaimExample| example.role == role);
    let mut notes: Vec<String> = ExampleRole::SHOWN
        .into_iter()
        .filter(|&role| !shown(role))
        .map(missing)
        .collect();
    let mut quiz = search.tasks(claim, &losses)?;
    let wanted = claim.quiz - quiz.len();
    quiz.extend(search.more_tasks(claim, candidates, wanted)?);
    if quiz.len() < claim.quiz {
        notes.push(format!(
            "The quiz has {} of the {} positions asked for: in no other was the move played one of a few quiet, safe moves that restrain the piece.",
            quiz.len(),
            claim.quiz
        ));
    }
    Ok((examples, quiz, notes))
}

/// So many examples: three in four show the loss of a piece, one in four a piece that got
/// away; where one sort is short, the other fills up. A note says what is missing.
pub fn listed(
    dataset: &Dataset,
    claim: &Claim,
    candidates: &Candidates,
    count: usize,
) -> Result<(Vec<ClaimExample>, Vec<String>), AskError> {
    let mut search = match Search::new(dataset, claim, candidates)? {
        Ok(search) => search,
        Err(note) => return Ok((Vec::new(), vec![note])),
    };
    let losses = search.losses(candidates, COMPARED.max(2 * count))?;
    let examples = search.choose(candidates, &losses, count)?;
    let mut notes = Vec::new();
    if examples.len() < count {
        notes.push(format!(
            "{} of the {count} examples asked for: no other game shows it clearly.",
            examples.len()
        ));
    }
    Ok((examples, notes))
}

/// Why a game of a role is not shown.
fn missing(role: ExampleRole) -> String {
    let what = match role {
        ExampleRole::Clearest | ExampleRole::Clear => {
            "in no game was a piece lost for want of squares after a quiet, safe move, with level material"
        }
        ExampleRole::Typical => "there is no second game to choose from",
        ExampleRole::CounterExample => {
            "in no game did the owner of a piece restrained so free it in time and not lose"
        }
    };
    format!("No {role} game is shown: {what}.")
}

type Key = (String, u64);

fn key(spell: &Restraint) -> Key {
    (spell.part.source.clone(), spell.game)
}

/// A candidate that was looked at on the board.
pub(super) struct Tried<'a> {
    pub spell: &'a Restraint,
    pub played: Played,
    pub course: Course,
    pub faults: Vec<Fault>,
}

/// Games of the candidates, and the positions shown so far.
pub(super) struct Search {
    /// What the claim calls its pieces.
    state: &'static str,
    games: BTreeMap<Key, Place>,
    moves: BTreeMap<Key, Place>,
    shown_games: BTreeSet<Key>,
    shown_positions: BTreeSet<String>,
}

impl Search {
    /// Finds the games of the candidates; a note instead where a table was not written.
    fn new(
        dataset: &Dataset,
        claim: &Claim,
        candidates: &Candidates,
    ) -> Result<Result<Search, String>, AskError> {
        for table in [Table::Games, Table::Moves] {
            if !dataset.has(table) {
                return Ok(Err(format!(
                    "No example games are given: the table of {table} was not written."
                )));
            }
        }
        let lists = [candidates.lost(), candidates.escaped(), candidates.tasks()];
        let tried = lists.into_iter().flat_map(|list| list.iter().take(MOST_TRIED));
        let wanted: BTreeSet<Key> = tried.map(key).collect();
        Ok(Ok(Search {
            state: claim.state(),
            games: locate(dataset, Table::Games, &wanted)?,
            moves: locate(dataset, Table::Moves, &wanted)?,
            shown_games: BTreeSet::new(),
            shown_positions: BTreeSet::new(),
        }))
    }

    /// Plays a candidate's game.
    fn try_out<'a>(&self, spell: &'a Restraint) -> Result<Tried<'a>, AskError> {
        let key = key(spell);
        let missing = |table| {
            AskError::bad_table(
                table,
                format!("game {} of {} has spells but is not there", key.1, key.0),
            )
        };
        let game = self.games.get(&key).ok_or_else(|| missing(Table::Games))?;
        let moves = self.moves.get(&key).ok_or_else(|| missing(Table::Moves))?;
        let played = Played::of(game, moves)?;
        let course = Course::of(&played, spell)?;
        let faults = rule::faults_of_loss(&course);
        Ok(Tried {
            spell,
            played,
            course,
            faults,
        })
    }

    /// Whether neither the game nor the position was shown; from now on they are.
    fn take(&mut self, tried: &Tried<'_>) -> bool {
        let position = rule::recognised(&tried.course.before);
        let new = !self.shown_games.contains(&key(tried.spell))
            && !self.shown_positions.contains(&position);
        if new {
            self.shown_games.insert(key(tried.spell));
            self.shown_positions.insert(position);
        }
        new
    }

    /// Clear losses, the clearest first; those looked for beyond a page's come after them.
    fn losses<'a>(
        &self,
        candidates: &'a Candidates,
        enough: usize,
    ) -> Result<Vec<Tried<'a>>, AskError> {
        let mut found = Vec::new();
        for spell in candidates.lost().iter().take(MOST_TRIED) {
            if found.len() >= enough {
                break;
            }
            let tried = self.try_out(spell)?;
            if tried.faults.is_empty() {
                found.push(tried);
            }
        }
        for list in found.chunks_mut(COMPARED) {
            list.sort_by_cached_key(|tried| {
                let points = rule::points_of_loss(&tried.course, tried.spell);
                (-points, tried.spell.part.clone(), tried.spell.row)
            });
        }
        Ok(found)
    }

    /// So many examples of these losses and of the escapes among the candidates.
    fn choose(
        &mut self,
        candidates: &Candidates,
        losses: &[Tried<'_>],
        count: usize,
    ) -> Result<Vec<ClaimExample>, AskError> {
        let middle = candidates.middle();
        let escapes = count.div_ceil(4).min(count / 2);
        let mut examples = Vec::new();
        if let Some(clearest) = losses.first() {
            self.take(clearest);
            examples.push(self.example(ExampleRole::Clearest, clearest, middle));
        }
        if count >= 2
            && !losses.is_empty()
            && let Some(typical) = self.typical(candidates)?
        {
            examples.push(self.example(ExampleRole::Typical, &typical, middle));
        }
        let mut got_away = self.escapes(candidates, escapes)?;
        for loss in losses {
            if examples.len() + got_away.len() >= count {
                break;
            }
            if self.take(loss) {
                examples.push(self.example(ExampleRole::Clear, loss, middle));
            }
        }
        let more = count.saturating_sub(examples.len() + got_away.len());
        got_away.extend(self.escapes(candidates, more)?);
        let role = ExampleRole::CounterExample;
        examples.extend(got_away.iter().map(|escape| self.example(role, escape, None)));
        Ok(examples)
    }

    /// The clear loss nearest the middle, in a game not shown yet.
    fn typical<'a>(
        &mut self,
        candidates: &'a Candidates,
    ) -> Result<Option<Tried<'a>>, AskError> {
        let Some(middle) = candidates.middle() else {
            return Ok(None);
        };
        let mut nearest: Vec<&Restraint> = candidates.lost().iter().collect();
        nearest.sort_by(|a, b| {
            let distance = middle.distance(a).total_cmp(&middle.distance(b));
            distance.then_with(|| (&a.part, a.row).cmp(&(&b.part, b.row)))
        });
        nearest.retain(|spell| self.moves.contains_key(&key(spell)));
        for spell in nearest.into_iter().take(MOST_TRIED) {
            let tried = self.try_out(spell)?;
            if tried.faults.is_empty() && self.take(&tried) {
                return Ok(Some(tried));
            }
        }
        Ok(None)
    }

    /// Pieces that got away, the plainest first.
    fn escapes<'a>(
        &mut self,
        candidates: &'a Candidates,
        enough: usize,
    ) -> Result<Vec<Tried<'a>>, AskError> {
        let mut found = Vec::new();
        for spell in candidates.escaped().iter().take(MOST_TRIED) {
            if found.len() >= enough {
                break;
            }
            let tried = self.try_out(spell)?;
            if rule::is_escape(&tried.course, spell, &tried.played) && self.take(&tried)
            {
                found.push(tried);
            }
        }
        Ok(found)
    }

    /// Positions before clear losses that may be set as tasks.
    fn tasks(&mut self, claim: &Claim, losses: &[Tried<'_>]) -> Result<Vec<Quiz>, AskError> {
        let mut tasks = Vec::new();
        for tried in losses {
            if tasks.len() == claim.quiz {
                break;
            }
            if let Some(task) = task::of(claim, tried)
                && self.take(tried)
            {
                tasks.push(task);
            }
        }
        Ok(tasks)
    }

    /// More of them, from restraints that lasted.
    fn more_tasks(
        &mut self,
        claim: &Claim,
        candidates: &Candidates,
        wanted: usize,
    ) -> Result<Vec<Quiz>, AskError> {
        let mut tasks = Vec::new();
        for spell in candidates.tasks().iter().take(MOST_TRIED) {
            if tasks.len() == wanted {
                break;
            }
            let tried = self.try_out(spell)?;
            if let Some(task) = task::of(claim, &tried)
                && self.take(&tried)
            {
                tasks.push(task);
            }
        }
        Ok(tasks)
    }

    fn example(
        &self,
        role: ExampleRole,
        tried: &Tried<'_>,
        middle: Option<Middle>,
    ) -> ClaimExample {
        shown::example(&Chosen {
            role,
            state: self.state,
            spell: tried.spell,
            played: &tried.played,
            course: &tried.course,
            middle,
        })
    }
}
