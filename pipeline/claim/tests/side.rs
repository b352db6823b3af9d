//! What became of the side of a claim's pieces, over rows worked out by hand.

use hand_made_tables::Turn;
use hobble_claim::answer::{Finds, Rung, SideOutcome, Standing};
use hobble_claim::outcome::ClaimOutcome;
use hobble_claim::{Claim, ClaimAnswer};

#[path = "common/knight.rs"]
mod knight;

fn claim(more: &str) -> Claim {
    knight::claim(&format!("k = 1\n{more}"))
}

fn ask(rows: &[Turn], claim: &Claim) -> ClaimAnswer {
    knight::ask(rows, None, claim)
}

/// Twenty games in each of eight folds, each with a restrained knight and, a move later, a free
/// one. The side of the restrained one loses `lost` of them, in odd folds one more, and draws the
/// rest; it is three pawns down after ten moves where it loses, as its evaluation says. The side of
/// the free one draws, and loses one game of a fold so.
fn rows(lost: u32) -> Vec<Turn> {
    let mut rows = Vec::new();
    for fold in 0..8_u8 {
        for number in 0..20 {
            let of = |lost: u32, piece: Turn| {
                let lost = number < lost;
                Turn {
                    game: number * 64 + u32::from(fold),
                    fold,
                    owner_result: if lost { "loss" } else { "draw" },
                    material: [0, 0, 0, if lost { -3 } else { 0 }, 0].map(Some),
                    evals: [0.0, 0.0, 0.0, if lost { -2.5 } else { 0.1 }].map(Some),
                    others_lost_ply: lost.then_some(piece.ply + 20),
                    ..piece
                }
            };
            let free = Turn {
                ply: 30,
                ..Turn::default()
            };
            rows.push(of(lost + u32::from(fold % 2), Turn::restrained()));
            rows.push(of(1 + u32::from(fold % 3), free));
        }
    }
    rows
}

fn row(answer: &ClaimAnswer, outcome: ClaimOutcome, within: Option<u32>) -> &SideOutcome {
    let rows = answer.side.iter();
    rows.into_iter()
        .find(|row| row.outcome == outcome && row.within == within)
        .unwrap()
}

fn close(estimate: hobble_statistics::Estimate, want: f64) {
    let value = estimate.value.unwrap();
    assert!((value - want).abs() < 1e-9, "{value} for {want}");
}

/// 8 × 8 + 4 = 68 of 160 restrained knights lose the game, 8 + 3 + 2 × 2 = 15 of 160 free ones.
#[test]
fn means_and_shares_by_hand() {
    let got = ask(&rows(8), &claim(""));
    let (lost, free) = (68.0 / 160.0, 15.0 / 160.0);
    let score = row(&got, ClaimOutcome::Score, None);
    assert_eq!(
        (score.held_rows, score.free_rows, score.strata),
        (160, 160, 1)
    );
    assert_eq!(score.ratio, None);
    close(score.held_value, 0.5 - lost / 2.0);
    close(score.free_value, 0.5 - free / 2.0);
    close(score.difference, (free - lost) / 2.0);
    let material = row(&got, ClaimOutcome::MaterialLost, Some(10));
    close(material.held_value, lost);
    close(material.ratio.unwrap(), lost / free);
    let another = row(&got, ClaimOutcome::AnotherLost, Some(10));
    close(another.held_value, lost);
    let evaluation = row(&got, ClaimOutcome::Evaluation, Some(10));
    close(evaluation.held_value, 0.1 - 2.6 * lost);
    close(evaluation.difference, 2.6 * (free - lost));
    close(row(&got, ClaimOutcome::Evaluation, Some(5)).held_value, 0.0);
}

/// A score is compared between players of as great a rating difference: free pieces of other games
/// do not count.
#[test]
fn rating_difference_is_matched() {
    let mut all = rows(8);
    for row in &mut all {
        if row.ply == 30 && row.fold % 2 == 0 {
            row.rating_diff = ">=200";
            row.owner_result = "win";
        }
    }
    let score = ask(&all, &claim(""));
    let score = row(&score, ClaimOutcome::Score, None);
    assert_eq!(score.free_rows, 80);
    // In odd folds 2, 1, 3 and 2 games with a free piece are lost, of twenty each.
    close(score.free_value, 0.5 - 8.0 / 80.0 / 2.0);
}

/// The interval of a difference lies around it, and a mean without a known value has no row.
#[test]
fn intervals_and_what_is_not_known() {
    let got = ask(&rows(8), &claim(""));
    let score = row(&got, ClaimOutcome::Score, None);
    let interval = score.difference.jackknife.unwrap();
    assert!(interval.low < score.difference.value.unwrap());
    assert!(interval.high < 0.0);
    let none: Vec<Turn> = rows(8)
        .into_iter()
        .map(|row| Turn {
            evals: [None; 4],
            owner_result: "unknown",
            ..row
        })
        .collect();
    let got = ask(&none, &claim(""));
    let left: Vec<_> = got.side.iter().map(|row| row.outcome).collect();
    assert_eq!(
        left,
        [ClaimOutcome::MaterialLost, ClaimOutcome::AnotherLost]
    );
}

/// The verdict speaks of the outcome that the claim names.
#[test]
fn the_verdict_is_about_the_side() {
    let got = ask(&rows(8), &claim("outcome = \"score\""));
    let standing = got.evidence.at(Rung::Association);
    assert!(
        matches!(standing, Standing::Mean { holds: true, .. }),
        "{standing:?}"
    );
    assert_eq!(*got.evidence.at(Rung::Twins), Standing::SameSide);
    assert_eq!(
        got.verdict.finds,
        Finds::Holds {
            rung: Rung::Association
        }
    );
    let words = got.verdict.to_string();
    assert!(
        words.starts_with("Sides with knights restrained to one safe square at most scored 0.29 points a game, sides with comparable free ones 0.45: 0.17 of a point less ("),
        "{words}"
    );
    let got = ask(&rows(8), &claim("outcome = \"material lost\""));
    assert!(got.evidence.at(Rung::Association).holds());
    assert!(
        got.verdict
            .to_string()
            .contains("stood two pawns worse or more 10 moves later in 42.5% of cases"),
        "{}",
        got.verdict
    );
    // As many as beside free ones: no difference.
    let got = ask(&rows(1), &claim("outcome = \"score\""));
    assert!(got.evidence.at(Rung::Association).fails());
    assert_eq!(got.verdict.finds, Finds::NotSo);
    assert!(
        got.verdict
            .to_string()
            .contains("no difference that these games can show"),
        "{}",
        got.verdict
    );
    // The claim without a named outcome is about the piece, which was never lost.
    let got = ask(&rows(8), &claim(""));
    assert_ne!(
        got.verdict.finds,
        Finds::Holds {
            rung: Rung::Association
        }
    );
}
