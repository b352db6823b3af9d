//! What the tables say of pieces like the restrained ones of a game, by the shipped claims.

use std::path::Path;

use hobble_claim::{Claim, ClaimAnswer, Finds, side_in_short};
use hobble_conditions::terms::MovedBy;
use hobble_dataset::Dataset;
use hobble_questions::Asked;
use hobble_report::number::{percent, small};
use hobble_terms::Kind;
use hobble_tracks::spell::Spell;
use hobble_walkthrough::Walkthrough;
use hobble_walkthrough::beside::Beside;
use hobble_walkthrough::lines::{holds_for, restraints};
use shakmaty::Role;

/// The answers of an archive to the shipped claims about restrained pieces.
pub struct Archive {
    answers: Vec<ClaimAnswer>,
}

impl Archive {
    /// Answers the claims from a folder of tables.
    pub fn read(folder: &Path) -> anyhow::Result<Archive> {
        let dataset = Dataset::open(folder)?;
        let mut answers = Vec::new();
        for asked in Asked::shipped()? {
            let claim = asked.of_type::<Claim>();
            if let Some(claim) = claim.filter(|claim| claim.is_of_restrained()) {
                answers.push(hobble_claim::answer(&dataset, claim)?);
            }
        }
        Ok(Archive { answers })
    }

    /// The answers that fit restraints of a game.
    pub fn beside(&self, walkthrough: &Walkthrough) -> Vec<Beside> {
        let spells: Vec<&Spell> = restraints(&walkthrough.game, walkthrough.k)
            .into_iter()
            .map(|nth| &walkthrough.game.spells[nth])
            .collect();
        self.answers
            .iter()
            .filter_map(|answer| {
                let restraints: Vec<_> = spells
                    .iter()
                    .filter(|spell| fits(answer, spell))
                    .map(|spell| (spell.slot, usize::from(spell.start)))
                    .collect();
                (!restraints.is_empty()).then(|| Beside {
                    claim: answer.claim.name.clone(),
                    title: answer.claim.title.clone(),
                    verdict: answer.verdict.to_string(),
                    figure: figure(answer),
                    rung: rung(answer.verdict.finds),
                    restraints,
                })
            })
            .collect()
    }
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
fn fits(answer: &ClaimAnswer, spell: &Spell) -> bool {
    let claim = &answer.claim;
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
        return side_in_short(answer).unwrap_or_else(|| "too few games".to_owned());
    }
    let Some(row) = answer
        .comparison
        .iter()
        .find(|row| row.within == claim.within)
    else {
        return "too few games".to_owned();
    };
    // A rate without an interval says nothing of such pieces.
    let (Some(rate), Some(interval)) = (row.held_rate.value, row.held_rate.jackknife) else {
        return "too few games".to_owned();
    };
    let interval = format!("{} to {}", percent(interval.low), percent(interval.high));
    format!(
        "{} {} within {} moves ({interval})",
        percent(rate),
        claim.of_piece(),
        small(claim.within.into()),
    )
}
