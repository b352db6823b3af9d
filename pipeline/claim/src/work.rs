//! From a claim to its answer: every part counted, the counts added up, the figures made.

use rayon::prelude::*;

use super::answer::{ClaimAnswer, FORMAT, Varied};
use super::compare::Compared;
use super::evidence::{Ladder, Rung};
use super::file::Claim;
use super::guards::Guards;
use super::report::report;
use super::side::SideOutcome;
use super::state::State;
use super::twins::{Adjusted, Twins};
use super::verdict::Found;
use super::{choice, compare, curve, decision, ends, examples, guards, side};
use hobble_conditions::AskError;
use hobble_conditions::counted;
use hobble_conditions::sum::Sum;
use hobble_conditions::words;
use hobble_dataset::{Dataset, PartId};
use hobble_examples::KeptGames;
use hobble_report::sections::not_finished;
use hobble_report::{ColumnText, Report, Reported};
use hobble_statistics::few::FREE_ROWS;
use hobble_statistics::sources::{BRESLOW_DAY, MIETTINEN, TUKEY};
use hobble_statistics::{Estimate, LEVEL};
use hobble_terms::Table;

/// Answers a claim from a dataset.
///
/// # Errors
///
/// Where a table is missing, unreadable or inconsistent.
pub fn answer(dataset: &Dataset, claim: &Claim) -> Result<ClaimAnswer, AskError> {
    counted::answer(claim, dataset)
}

impl Reported for ClaimAnswer {
    fn report(&self) -> Report<'_> {
        report(self)
    }

    fn columns() -> Vec<ColumnText> {
        crate::report_lines::texts()
    }
}

impl Sum for Claim {
    type State = State;
    type Answer = ClaimAnswer;

    fn tables(&self) -> &'static [Table] {
        &[Table::Spells, Table::Turns]
    }

    fn optional(&self) -> &'static [Table] {
        &[Table::Games, Table::Decisions]
    }

    fn shown(&self) -> &'static [Table] {
        &[Table::Games, Table::Moves]
    }

    fn keep(&self, dataset: &Dataset, state: &mut State) -> Result<(), AskError> {
        state.games = KeptGames::read(dataset, &state.candidates.games())?;
        Ok(())
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<State, AskError> {
        State::of(self, dataset, id)
    }

    fn answer(&self, dataset: &Dataset, state: &State) -> Result<ClaimAnswer, AskError> {
        let (figures, shown) = rayon::join(
            || Figures::of(self, dataset, state),
            || examples::examples(self, dataset, &state.candidates, &state.games),
        );
        let (examples, quiz, more) = shown?;
        let Figures {
            comparison,
            sensitivity,
            guards,
            twins,
            side,
        } = figures;
        let own = own(self, &comparison);
        let sample = u64::from(dataset.parameters().sample.get());
        let decision = match decision::unmeasured(self, dataset.has(Table::Decisions)) {
            Some(why) => Err(why),
            None => Ok(decision::decision(&state.chances, sample)),
        };
        let chances = decision.as_ref().ok();
        let evidence = Ladder::of(self, own, &side, (&twins, chances, &guards));
        let found = Found {
            claim: self,
            ladder: &evidence,
            own,
            side: side::own(self, &side),
            twins: &twins,
            decision: decision.as_ref().map_err(|why| *why),
            guards: &guards,
        };
        let verdict = found.verdict();
        let sentences = Rung::ALL.map(|rung| found.sentence(rung)).to_vec();
        let mut notes = notes(self);
        notes.extend(not_finished(dataset));
        let scores = if dataset.has(Table::Games) {
            state.scores.scores()
        } else {
            notes.push("No scores are given: the table of games was not written.".to_owned());
            Vec::new()
        };
        notes.extend(more);
        Ok(ClaimAnswer {
            format: FORMAT,
            hobble: env!("CARGO_PKG_VERSION").to_owned(),
            definitions: dataset.definitions(),
            claim: self.clone(),
            level: LEVEL,
            verdict,
            spells: state.folds.values().map(|fold| fold.spells).sum(),
            curve: curve::curve(&state.folds),
            by_turn: state.by_turn.course(),
            ends: ends::ends(&state.folds),
            scores,
            sensitivity,
            evidence,
            sentences,
            twins,
            decision: decision.ok(),
            guards,
            material: ends::material(&state.folds),
            comparison,
            side,
            examples,
            quiz,
            dataset: dataset.summary().clone(),
            notes,
        })
    }
}

/// What is worked out from the counts.
struct Figures {
    comparison: Vec<Compared>,
    sensitivity: Vec<Compared>,
    guards: Guards,
    twins: Vec<Twins>,
    side: Vec<SideOutcome>,
}

impl Figures {
    fn of(claim: &Claim, dataset: &Dataset, state: &State) -> Figures {
        let sample = u64::from(dataset.parameters().sample.get());
        let cells = &state.cells;
        let by_horizon = choice::by_horizon(claim);
        let mut choices = by_horizon.clone();
        choices.extend(choice::sensitivity(claim));
        let ((mut comparison, guards), (twins, side)) = rayon::join(
            || {
                let comparison = compare::compare(claim, &choices, cells, sample);
                let nothing = Estimate {
                    value: None,
                    jackknife: None,
                };
                let ratio = own(claim, &comparison).map_or(nothing, |own| own.ratio);
                (
                    comparison,
                    guards::guards(claim, (cells, &state.side), &ratio),
                )
            },
            || {
                let twins = Adjusted::ALL.into_par_iter();
                let twins = twins.map(|adjusted| state.twins.compare(adjusted));
                let twins = twins.collect();
                (twins, side::compare(claim, &state.side))
            },
        );
        let sensitivity = comparison.split_off(by_horizon.len());
        Figures {
            comparison,
            sensitivity,
            guards,
            twins,
            side,
        }
    }
}

/// The comparison at the claim's own horizon.
fn own<'a>(claim: &Claim, comparison: &'a [Compared]) -> Option<&'a Compared> {
    let mut rows = comparison.iter();
    rows.find(|row| row.varied == Varied::Within && row.within == claim.within)
}

fn notes(claim: &Claim) -> Vec<String> {
    let happened = words::happened(claim.of_piece());
    let mut notes = vec![
        "An association in played games is not proof of cause: whoever restrains well may play better in other ways too. Twins share the position and the player, but not where each piece stands.".to_owned(),
        format!(
            "Compared are pieces alike in kind, phase, number of the move (by tens), material (two or more ahead, level, two or more behind), rating band, time class, defended or not, safe squares two turns earlier (in classes) and other pieces of the side held. Strata with fewer than {} comparable rows are left out.",
            FREE_ROWS
        ),
        format!(
            "A free piece has more than {} safe squares now and had more at its owner\u{2019}s last turn{}. It counts at every such turn.",
            claim.k,
            if claim.is_of_restrained() {
                ", where it was not attacked"
            } else {
                ""
            }
        ),
        format!(
            "A piece counts as not {happened} where its game ends first, or where it is traded first; the rows below the comparison show the figure with traded pieces left out."
        ),
        format!(
            "Intervals are 95%, by leaving out one of 64 folds of games at a time ({}); those of twins by conditional logistic regression, clustered by games and, where they are named, by players ({}). Free rates are weighted as the claim\u{2019}s pieces are spread over the strata ({}, {}). Of twenty such intervals one misses its figure in the long run.",
            TUKEY.brief(),
            BRESLOW_DAY.brief(),
            MIETTINEN.brief(),
            MIETTINEN.checked,
        ),
        "Sides with such a spell are found more easily in long games, and the score comparison is not matched by length or by what stood on the board.".to_owned(),
    ];
    if claim.is_of_restrained() {
        notes.push("A restrained piece has left home; a quiet move of the opponent, which did not attack it, left it so few safe squares, and a turn later it still has no more (definitions, section 6). Both sides are counted from such a turn.".to_owned());
    } else {
        notes.push(format!(
            "Held pieces are counted at turn {} of their spell, and matched by being attacked as well. From the third turn on the spell is that of the squares the piece has at that turn.",
            claim.turns
        ));
    }
    notes
}
