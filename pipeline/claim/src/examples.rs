//! Which games a claim shows: the clearest, a typical one and a counter-example, or more of
//! them, chosen from the candidates on the board.

use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_examples::KeptGames;
use hobble_examples::course::THREAT;
use hobble_examples::search::{MOST_TRIED, Search, Tried};
use hobble_examples::task::Target;
use hobble_examples::{Restraint, rule};
use hobble_terms::Table;

use super::answer::{ClaimExample, ExampleRole, Task};
use super::candidates::{Candidates, Middle};
use super::file::Claim;
use super::shown::{self, Chosen};

/// Clear losses looked for before the clearest of them is taken.
const COMPARED: usize = 8;

/// Examples on a page and a handout: the clearest, a typical one, a counter-example.
const ON_A_PAGE: usize = 3;

/// Examples, quiz positions, and notes where something is missing.
pub type Shown = (Vec<ClaimExample>, Vec<Task>, Vec<String>);

/// Chooses and replays what a page and a handout show.
pub fn examples(
    claim: &Claim,
    dataset: &Dataset,
    candidates: &Candidates,
    kept: &KeptGames,
) -> Result<Shown, AskError> {
    let mut board = match Board::new(dataset, claim, candidates, kept)? {
        Ok(board) => board,
        Err(note) => return Ok((Vec::new(), Vec::new(), vec![note])),
    };
    let losses = board.losses(candidates, COMPARED)?;
    let examples = board.choose(candidates, &losses, ON_A_PAGE)?;
    let shown = |role| {
        examples
            .iter()
            .any(|example: &ClaimExample| example.role == role)
    };
    let mut notes: Vec<String> = ExampleRole::SHOWN
        .into_iter()
        .filter(|&role| !shown(role))
        .map(missing)
        .collect();
    let mut quiz = board.tasks(claim, &losses)?;
    let wanted = claim.quiz - quiz.len();
    quiz.extend(board.more_tasks(claim, candidates, wanted)?);
    if quiz.len() < claim.quiz {
        notes.push(format!(
            "The quiz has {} of the {} positions asked for: in no other was the move played the only quiet, safe one that restrains the piece, with nothing else at stake.",
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
    let mut board = match Board::new(dataset, claim, candidates, &KeptGames::default())? {
        Ok(board) => board,
        Err(note) => return Ok((Vec::new(), vec![note])),
    };
    let losses = board.losses(candidates, COMPARED.max(2 * count))?;
    let examples = board.choose(candidates, &losses, count)?;
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
        ExampleRole::Clearest | ExampleRole::Clear | ExampleRole::Nearest => {
            "in no game was a piece lost for want of squares after a quiet, safe move, with level material"
        }
        ExampleRole::Typical => "there is no second game to choose from",
        ExampleRole::CounterExample => {
            "in no game did the owner of a piece restrained so free it in time and not lose"
        }
    };
    format!("No {role} game is shown: {what}.")
}

/// The search on the board for what a claim shows.
struct Board {
    /// What the claim calls its pieces.
    state: &'static str,
    search: Search,
}

impl Board {
    /// Finds the games of the candidates; a note instead where a table was not written.
    fn new(
        dataset: &Dataset,
        claim: &Claim,
        candidates: &Candidates,
        kept: &KeptGames,
    ) -> Result<Result<Board, String>, AskError> {
        for table in [Table::Games, Table::Moves] {
            if !dataset.has(table) {
                return Ok(Err(format!(
                    "No example games are given: the table of {table} was not written."
                )));
            }
        }
        Ok(Ok(Board {
            state: claim.state(),
            search: Search::new(dataset, kept, candidates.tried())?,
        }))
    }

    /// Clear losses, the clearest first; those looked for beyond a page's come after them.
    fn losses<'a>(
        &self,
        candidates: &'a Candidates,
        enough: usize,
    ) -> Result<Vec<Tried<'a>>, AskError> {
        let mut found = self
            .search
            .passing(candidates.lost(), enough, |tried| tried.is_clear())?;
        for list in found.chunks_mut(COMPARED) {
            list.sort_by_cached_key(Tried::order);
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
            self.search.take(clearest);
            examples.push(self.example(ExampleRole::Clearest, clearest, middle));
        } else if let Some(nearest) = self.nearest(candidates)? {
            self.search.take(&nearest);
            examples.push(self.example(ExampleRole::Nearest, &nearest, middle));
        }
        if count - escapes >= 2
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
            if self.search.take(loss) {
                examples.push(self.example(ExampleRole::Clear, loss, middle));
            }
        }
        let more = count.saturating_sub(examples.len() + got_away.len());
        got_away.extend(self.escapes(candidates, more)?);
        if got_away.is_empty() && escapes > 0 {
            got_away.extend(self.plain_escape(candidates)?);
        }
        let role = ExampleRole::CounterExample;
        let escapes = got_away.iter();
        examples.extend(escapes.map(|escape| self.example(role, escape, None)));
        Ok(examples)
    }

    /// The clear loss nearest the middle, in a game not shown yet.
    fn typical<'a>(&mut self, candidates: &'a Candidates) -> Result<Option<Tried<'a>>, AskError> {
        let Some(middle) = candidates.middle() else {
            return Ok(None);
        };
        let known = candidates.lost().iter();
        let mut nearest: Vec<&Restraint> = known.filter(|spell| self.search.knows(spell)).collect();
        nearest.sort_by(|a, b| {
            let distance = middle.distance(a).total_cmp(&middle.distance(b));
            distance.then_with(|| (&a.part, a.row).cmp(&(&b.part, b.row)))
        });
        for spell in nearest.into_iter().take(MOST_TRIED) {
            let tried = self.search.try_out(spell)?;
            if tried.is_clear() && self.search.take(&tried) {
                return Ok(Some(tried));
            }
        }
        Ok(None)
    }

    /// The loss that comes nearest to a clear one, where there is none.
    fn nearest<'a>(&self, candidates: &'a Candidates) -> Result<Option<Tried<'a>>, AskError> {
        let all = self
            .search
            .passing(candidates.lost(), usize::MAX, |_| true)?;
        Ok(all.into_iter().min_by_key(Tried::order))
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
            let tried = self.search.try_out(spell)?;
            if rule::is_escape(&tried.course, spell, &tried.played) && self.search.take(&tried) {
                found.push(tried);
            }
        }
        Ok(found)
    }

    /// A piece that got away, though it was not under so plain a restraint.
    fn plain_escape<'a>(
        &mut self,
        candidates: &'a Candidates,
    ) -> Result<Option<Tried<'a>>, AskError> {
        for spell in candidates.escaped().iter().take(MOST_TRIED) {
            let tried = self.search.try_out(spell)?;
            let course = &tried.course;
            let sound = course.mover_loose == 0 && course.side_loose < THREAT;
            if sound && self.search.take(&tried) {
                return Ok(Some(tried));
            }
        }
        Ok(None)
    }

    /// Positions before clear losses that may be set as tasks.
    fn tasks(&mut self, claim: &Claim, losses: &[Tried<'_>]) -> Result<Vec<Task>, AskError> {
        let mut tasks = Vec::new();
        for tried in losses {
            if tasks.len() == claim.quiz {
                break;
            }
            tasks.extend(task(claim, tried).filter(|_| self.search.take(tried)));
        }
        Ok(tasks)
    }

    /// More of them, from restraints that lasted.
    fn more_tasks(
        &mut self,
        claim: &Claim,
        candidates: &Candidates,
        wanted: usize,
    ) -> Result<Vec<Task>, AskError> {
        let mut tasks = Vec::new();
        for spell in candidates.tasks().iter().take(MOST_TRIED) {
            if tasks.len() == wanted {
                break;
            }
            let tried = self.search.try_out(spell)?;
            tasks.extend(task(claim, &tried).filter(|_| self.search.take(&tried)));
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
            faults: &tried.faults,
            middle,
        })
    }
}

/// The position before a restraint as a task; `None` where the move played is not the only one
/// that restrains the piece.
fn task(claim: &Claim, tried: &Tried<'_>) -> Option<Task> {
    let course = &tried.course;
    let target = Target {
        kind: tried.spell.kind,
        square: course.square,
        k: claim.k,
    };
    let task = Task::of(
        &tried.played.game,
        &course.before,
        target,
        &course.cause.label,
    )?;
    task.answer()?.played.then_some(task)
}
