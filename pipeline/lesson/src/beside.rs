//! What the tables say of pieces like the restrained ones of a game, by the shipped claims.

use std::path::Path;
use std::sync::{Arc, OnceLock};

use hobble_claim::{Claim, ClaimAnswer, Finds, side_in_short};
use hobble_comparison::{Answer, Question};
use hobble_conditions::terms::{Key, MovedBy, Outcome};
use hobble_conditions::{AskError, Overrides};
use hobble_dataset::Dataset;
use hobble_report::number::{percent, small};
use hobble_statistics::Estimate;
use hobble_terms::Kind;
use hobble_tracks::roster::Slot;
use hobble_tracks::spell::Spell;
use hobble_walkthrough::Walkthrough;
use hobble_walkthrough::beside::Beside;
use hobble_walkthrough::lines::{holds_for, restraints};
use shakmaty::Role;

/// Where there is no figure.
const TOO_FEW: &str = "too few games";

/// The shipped questions about restrained pieces, each answered when a game first needs it.
pub struct Archive {
    dataset: Dataset,
    claims: Vec<Asked<Claim, ClaimAnswer>>,
    /// For restraints that no claim fits.
    comparison: Option<Asked<Question, Answer>>,
}

/// A question, and its answer once it was needed.
struct Asked<Q, A> {
    question: Q,
    answer: OnceLock<Result<A, Arc<AskError>>>,
}

impl<Q, A> Asked<Q, A> {
    fn new(question: Q) -> Asked<Q, A> {
        Asked {
            question,
            answer: OnceLock::new(),
        }
    }

    fn answer(&self, ask: impl FnOnce(&Q) -> Result<A, AskError>) -> anyhow::Result<&A> {
        let answered = || ask(&self.question).map_err(Arc::new);
        let answer = self.answer.get_or_init(answered);
        answer.as_ref().map_err(|error| Arc::clone(error).into())
    }
}

impl Archive {
    /// Opens a folder of tables.
    pub fn open(folder: &Path) -> anyhow::Result<Archive> {
        let dataset = Dataset::open(folder)?;
        let shipped = hobble_questions::Asked::shipped()?;
        let claims = shipped.iter().filter_map(|asked| asked.of_type::<Claim>());
        let claims = claims.filter(|claim| claim.is_of_restrained());
        let mut comparisons = shipped
            .iter()
            .filter_map(|asked| asked.of_type::<Question>());
        let by_kind = |question: &&Question| {
            question.is_of_restrained() && question.group_by.as_slice() == [Key::Kind]
        };
        // Only its figures are wanted.
        let comparison = comparisons.find(by_kind).map(|question| Question {
            examples: 0,
            ..question.clone()
        });
        Ok(Archive {
            claims: claims.map(|claim| Asked::new(claim.clone())).collect(),
            comparison: comparison.map(Asked::new),
            dataset,
        })
    }

    /// What the tables say of the restraints of a game.
    ///
    /// # Errors
    ///
    /// Where a table is missing or unreadable.
    pub fn beside(&self, walkthrough: &Walkthrough) -> anyhow::Result<Vec<Beside>> {
        let spells: Vec<&Spell> = restraints(&walkthrough.game, walkthrough.k)
            .into_iter()
            .map(|nth| &walkthrough.game.spells[nth])
            .collect();
        let mut beside = Vec::new();
        for asked in &self.claims {
            let claim = &asked.question;
            let fitting = spells.iter().filter(|spell| fits(claim, spell));
            let restraints: Vec<_> = fitting.map(|spell| place(spell)).collect();
            if restraints.is_empty() {
                continue;
            }
            let answer = asked.answer(|claim| hobble_claim::answer(&self.dataset, claim))?;
            beside.push(Beside {
                claim: claim.name.clone(),
                title: claim.title.clone(),
                verdict: answer.verdict.to_string(),
                figure: figure(answer),
                rung: rung(answer.verdict.finds),
                restraints,
            });
        }
        let said = |spell: &&Spell| {
            let mut places = beside.iter().flat_map(|one| &one.restraints);
            places.any(|one| *one == place(spell))
        };
        let rest: Vec<&Spell> = spells.into_iter().filter(|spell| !said(spell)).collect();
        beside.extend(self.compared(&rest)?);
        Ok(beside)
    }

    /// The rows of the comparison for kinds of restrained pieces that no claim fits.
    fn compared(&self, spells: &[&Spell]) -> anyhow::Result<Vec<Beside>> {
        let Some(asked) = &self.comparison else {
            return Ok(Vec::new());
        };
        let question = &asked.question;
        let mut beside = Vec::new();
        for kind in Kind::ALL {
            let of_kind = |spell: &&&Spell| {
                Kind::of(spell.kind) == Some(kind) && holds_for(spell, question.k)
            };
            let fitting = spells.iter().filter(of_kind);
            let restraints: Vec<_> = fitting.map(|spell| place(spell)).collect();
            if restraints.is_empty() {
                continue;
            }
            let ask = |question: &Question| {
                hobble_comparison::answer(question, &self.dataset, &Overrides::default())
            };
            let answer = asked.answer(ask)?;
            let row = answer.rows.iter().find(|row| row.label == kind.name());
            beside.extend(row.map(|row| {
                Beside {
                    claim: question.name.clone(),
                    title: format!("Is a restrained {kind} lost more often than a free one?"),
                    verdict: row.verdict.clone(),
                    figure: share(
                        &row.standardised.restricted_rate,
                        question.outcome,
                        question.within,
                    ),
                    rung: match row.standardised.ratio.jackknife {
                        Some(ratio) if ratio.low > 1.0 => "evidence: association",
                        Some(_) => "evidence: none",
                        None => "evidence: cannot be told",
                    }
                    .to_owned(),
                    restraints,
                }
            }));
        }
        Ok(beside)
    }
}

/// Where a restraint stands in a walkthrough: its piece and first turn.
fn place(spell: &Spell) -> (Slot, usize) {
    (spell.slot, usize::from(spell.start))
}

/// How far the evidence goes, in a word or two.
fn rung(finds: Finds) -> String {
    match finds {
        Finds::Holds { rung } => format!("evidence: {}", rung.name()),
        Finds::NotSo => "evidence: none".to_owned(),
        Finds::CannotTell => "evidence: cannot be told".to_owned(),
    }
}

/// Whether a restraint is one of those that a claim counts.
fn fits(claim: &Claim, spell: &Spell) -> bool {
    let by = spell.cause.ply.is_some_and(|ply| match claim.by {
        MovedBy::Any => true,
        MovedBy::Pawn => ply.mover == Role::Pawn,
        MovedBy::Piece => ply.mover != Role::Pawn,
    });
    let phase = claim.phase.is_empty() || claim.phase.contains(&spell.state.phase);
    let wedge = claim.wedge.wanted();
    let wedge = wedge.is_none_or(|wanted| spell.state.around.wedge == Some(wanted));
    by && phase
        && wedge
        && stands(claim, spell)
        && Kind::of(spell.kind).is_some_and(|kind| claim.kinds.contains(&kind))
        && holds_for(spell, claim.k)
        && u32::from(spell.turns) >= claim.turns
}

/// Whether the piece stands where the claim says.
fn stands(claim: &Claim, spell: &Spell) -> bool {
    let seen = spell.state.square;
    let seen = spell.color.fold_wb(seen, seen.flip_vertical());
    let places = claim.stands.is_empty()
        || (claim.stands.iter()).any(|place| place.squares().contains(seen));
    places && (claim.squares.is_empty() || claim.squares.contains(&seen.to_string()))
}

/// The share at the claim's own horizon, `4.1% lost within ten moves (3.2% to 5.3%)`, or what became
/// of the side.
fn figure(answer: &ClaimAnswer) -> String {
    let claim = &answer.claim;
    if claim.outcome.is_of_side() {
        return side_in_short(claim, &answer.side).unwrap_or_else(|| TOO_FEW.to_owned());
    }
    let mut rows = answer.comparison.iter();
    let own = rows.find(|row| row.within == claim.within);
    own.map_or_else(
        || TOO_FEW.to_owned(),
        |row| share(&row.held_rate, claim.of_piece(), claim.within),
    )
}

/// A share in a few words. A rate without an interval says nothing of such pieces.
fn share(rate: &Estimate, outcome: Outcome, within: u32) -> String {
    let (Some(rate), Some(interval)) = (rate.value, rate.jackknife) else {
        return TOO_FEW.to_owned();
    };
    let interval = format!("{} to {}", percent(interval.low), percent(interval.high));
    format!(
        "{} {outcome} within {} moves ({interval})",
        percent(rate),
        small(within.into()),
    )
}
