//! From a claim to its answer: every part counted, the counts added up, the figures made.

use super::answer::{ClaimAnswer, FORMAT};
use super::file::Claim;
use super::report::report;
use super::state::State;
use super::{choice, compare, curve, ends, examples, verdict};
use hobble_conditions::sort::Sort;
use hobble_conditions::sum::{self, Sum};
use hobble_conditions::terms::YesNo;
use hobble_conditions::words;
use hobble_conditions::{AskError, Given};
use hobble_dataset::{Dataset, PartId};
use hobble_report::sections::NOT_FINISHED;
use hobble_report::{Report, Reported};
use hobble_statistics::LEVEL;
use hobble_terms::Table;

/// Answers a claim from a dataset.
///
/// # Errors
///
/// Where a table is missing, unreadable or inconsistent.
pub fn answer(dataset: &Dataset, claim: &Claim) -> Result<ClaimAnswer, AskError> {
    sum::answer(claim, dataset)
}

impl Sort for Claim {
    type Answer = ClaimAnswer;

    fn ask(&self, dataset: &Dataset, given: &Given) -> Result<ClaimAnswer, AskError> {
        answer(dataset, &self.with(&given.overrides)?)
    }
}

impl Reported for ClaimAnswer {
    fn report(&self) -> Report<'_> {
        report(self)
    }
}

impl Sum for Claim {
    type State = State;
    type Answer = ClaimAnswer;

    fn tables(&self) -> &'static [Table] {
        &[Table::Spells, Table::Exposure]
    }

    fn optional(&self) -> &'static [Table] {
        &[Table::Games]
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<State, AskError> {
        State::of(self, dataset, id)
    }

    fn answer(&self, dataset: &Dataset, state: &State) -> Result<ClaimAnswer, AskError> {
        let of = |choices: &[_]| compare::compare(self, choices, &state.held, &state.free);
        let comparison = of(&choice::by_horizon(self));
        let own = comparison
            .iter()
            .find(|compared| compared.within == self.within);
        let verdict = verdict::verdict(self, own);
        let mut notes = notes(self);
        if let Some(own) = own.filter(|own| own.strata_left_out > 0) {
            notes.push(format!(
                "{} spells stand in strata without a free turn and are left out of the comparison.",
                words::count(own.held - own.compared_held)
            ));
        }
        if !dataset.complete() {
            notes.push(NOT_FINISHED.to_owned());
        }
        let scores = if dataset.has(Table::Games) {
            state.scores.scores()
        } else {
            notes.push("No scores are given: the table of games was not written.".to_owned());
            Vec::new()
        };
        let (examples, quiz, more) = examples::examples(self, dataset, &state.candidates)?;
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
            ends: ends::ends(&state.folds),
            scores,
            sensitivity: of(&choice::sensitivity(self)),
            material: ends::material(&state.folds),
            comparison,
            examples,
            quiz,
            dataset: dataset.summary().clone(),
            notes,
        })
    }
}

fn notes(claim: &Claim) -> Vec<String> {
    let mut notes = vec![
        "These figures are associations in played games, not proof of cause: whoever is held may be worse off in other ways as well.".to_owned(),
        "Not matched are material, the number of the move and the squares the piece had before. Owners of held pieces stand worse on average, so part of a difference is the position, not the restraint.".to_owned(),
        format!(
            "Counting starts at turn {} of each spell, so that nobody is given time he needed to be counted at all. A game that ends first, with the piece still there, counts as not {}: its end is a competing end.",
            claim.turns,
            words::happened(claim.outcome)
        ),
        "A held spell counts once, at that turn; a free piece counts at every turn at which it is free. Compared are turns alike in kind, developed or not, attacked or not, defended or not, phase, rating band and time class; the free rate is weighted as the spells are spread over these (Miettinen, American Journal of Epidemiology 96 (1972), 383-388, cited from memory).".to_owned(),
        "The comparison is exact, but stands only at 3, 5, 10, 15 and 20 moves: free turns are counted for these alone.".to_owned(),
        "Intervals are 95%, by leaving out one of 64 folds of games at a time, both sides together (Tukey, Annals of Mathematical Statistics 29 (1958), 614, cited from memory). Many are shown; of twenty such intervals one misses its figure in the long run, and nothing is adjusted for that.".to_owned(),
        "Sides with such a spell are found more easily in long games, and games without one are shorter in the mean; the score comparison is not matched by length or by what stood on the board.".to_owned(),
    ];
    if claim.is_of_restrained() {
        notes.push("A restrained piece has left home; a quiet move of the opponent, which did not attack it, left it so few safe squares, and a turn later it still has no more (definitions, section 6). Counting starts at that turn for the restrained pieces, so that none is given time that had to pass.".to_owned());
    }
    if claim.turns > 1 {
        notes.push("Attacked, defended, developed and phase are those at the start of the spell; by the turn that counts they may have changed, which the comparison does not see.".to_owned());
    }
    if claim.good.is_some() {
        notes.push("Free turns are not known by their good squares, so that these are asked of the held pieces alone.".to_owned());
    }
    if claim.developed != YesNo::Yes {
        notes.push(
            "Pieces still at home are among those counted; they are hardly ever lost soon."
                .to_owned(),
        );
    }
    notes
}
