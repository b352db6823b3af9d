//! The rung "played against not played", over rows worked out by hand.

use hand_made_tables::Decision;
use hobble_claim::ClaimAnswer;
use hobble_claim::answer::{Against, PlayedAgainst, Rung, Standing};

#[path = "common/knight.rs"]
mod knight;

fn ask(rows: &[Decision], more: &str) -> ClaimAnswer {
    knight::ask(&[], Some(rows), &knight::claim(more))
}

/// In each of eight folds twenty chances that were taken and forty that were missed, so many
/// of them followed by the loss of the piece, in odd folds one more.
fn folds(taken: u16, missed: u16) -> Vec<Decision> {
    let mut rows = Vec::new();
    for fold in 0..8_u8 {
        let more = u16::from(fold % 2);
        for (chance, number, lost) in [
            (Decision::taken(), 20, taken + more),
            (Decision::default(), 40, missed + more),
        ] {
            for nth in 0..number {
                let row = Decision {
                    fold,
                    player_fold: Some(fold),
                    ..chance.clone()
                };
                rows.push(if nth < lost { row.lost(36) } else { row });
            }
        }
    }
    rows
}

fn own(answer: &ClaimAnswer, against: Against) -> &PlayedAgainst {
    let decision = answer.decision.as_ref().expect("it is measured");
    let mut rows = decision.compared.iter();
    rows.find(|row| row.against == against).expect("compared")
}

const ANYTHING: Against = Against::AnythingElse;

#[test]
fn by_hand() {
    let got = ask(&folds(6, 4), "k = 1");
    let row = own(&got, ANYTHING);
    assert_eq!((row.played, row.not_played, row.strata), (160, 320, 1));
    assert_eq!((row.outcomes, row.not_played_outcomes), (52, 36));
    let ratio = (52.0 / 160.0) / (36.0 / 320.0);
    assert!((row.ratio.value.unwrap() - ratio).abs() < 1e-12);
    assert!(got.evidence.at(Rung::Decision).holds());
    let decision = got.decision.as_ref().unwrap();
    assert_eq!(
        (decision.rows, decision.chances, decision.played),
        (480, 480 * 16, 160)
    );
    let sentence = &got.sentences[Rung::Decision as usize];
    let begins = "Where a quiet move could have restrained a knight, it was lost within 10 moves in 32.5% of the turns at which that was played and in 11.2% of those at which something else was";
    assert!(sentence.starts_with(begins), "{sentence}");
    // No turn was sampled, so that there is no association to build on.
    assert!(!got.verdict.to_string().contains("such a move"));
    // Lost eight plies later: not yet by three moves, but within five.
    let got = ask(&folds(6, 4), "k = 1\nwithin = 3");
    assert_eq!(own(&got, ANYTHING).outcomes, 0);
    let got = ask(&folds(6, 4), "k = 1\nwithin = 5");
    assert_eq!(own(&got, ANYTHING).outcomes, 52);
}

/// No difference, and no rung that holds.
#[test]
fn the_same_either_way() {
    let got = ask(&folds(3, 7), "k = 1");
    let Standing::Found(found) = got.evidence.at(Rung::Decision) else {
        panic!("{:?}", got.evidence.at(Rung::Decision));
    };
    assert!(!found.holds && (found.estimate.value.unwrap() - 28.0 / 30.0).abs() < 1e-12);
}

/// What differs in what is matched is not compared.
#[test]
fn only_alike_turns_are_compared() {
    type Change = fn(Decision) -> Decision;
    let changes: [(&str, Change); 7] = [
        ("phase", |row| Decision {
            phase: "endgame",
            ..row
        }),
        ("ply", |row| Decision {
            ply: row.ply + 10,
            ..row
        }),
        ("balance", |row| Decision { balance: -2, ..row }),
        ("squares", |row| Decision { safe: 3 - 1, ..row }),
        ("moves", |row| Decision {
            leaving: [Some(1), Some(1), None],
            ..row
        }),
        ("band", |row| Decision {
            band: "1600-1799",
            ..row
        }),
        ("time class", |row| Decision {
            time_class: "blitz",
            ..row
        }),
    ];
    for (what, change) in changes {
        let rows = folds(6, 4).into_iter();
        let rows: Vec<_> = rows
            .map(|row| if row.restrains { row } else { change(row) })
            .collect();
        let got = ask(&rows, "k = 1");
        assert_eq!(own(&got, ANYTHING).strata, 0, "{what}");
        assert!(!got.evidence.at(Rung::Decision).is_measured(), "{what}");
    }
    // The owner's band is a filter, not matched.
    let got = ask(&folds(6, 4), "k = 1\nband = [\"1600-1799\"]");
    assert_eq!(got.decision.as_ref().unwrap().rows, 0);
}

/// A claim about pawns asks for a pawn's move; where a piece restrained it instead, the turn is
/// neither.
#[test]
fn the_unit_that_is_named() {
    let mut rows = folds(6, 4);
    for row in rows.iter_mut().filter(|row| row.restrains && row.fold < 4) {
        row.played = "bishop";
    }
    let got = ask(&rows, "k = 1\nby = \"pawn\"");
    assert_eq!(own(&got, ANYTHING).played, 80);
    assert_eq!(own(&got, ANYTHING).not_played, 320);
    let got = ask(&rows, "k = 1\nby = \"piece\"");
    assert_eq!(got.decision.as_ref().unwrap().rows, 0, "one move, a pawn's");
}

/// Turns at which the move played gave something away are compared in the first row alone.
#[test]
fn other_quiet_moves() {
    let mut rows = folds(6, 4);
    for row in rows.iter_mut().filter(|row| !row.restrains && row.fold < 4) {
        row.played_quiet = false;
    }
    let got = ask(&rows, "k = 1");
    assert_eq!(own(&got, ANYTHING).not_played, 320);
    assert_eq!(own(&got, Against::OtherQuiet).not_played, 160);
}

/// Of all losses after such a move most are one player's: by games the interval is narrow, by
/// players there is little to find.
#[test]
fn the_wider_interval_counts() {
    let width = |answer: &ClaimAnswer| {
        let interval = own(answer, ANYTHING).ratio.jackknife.expect("enough folds");
        interval.high / interval.low
    };
    let rows = folds(6, 4);
    let apart = width(&ask(&rows, "k = 1"));
    let mut same = rows;
    // Most losses after such a move are one player's.
    for (nth, row) in same.iter_mut().enumerate() {
        let lost = row.restrains && row.fate == "lost";
        row.player_fold = Some(if lost && nth % 3 > 0 {
            0
        } else {
            (nth % 8) as u8
        });
    }
    assert!(width(&ask(&same, "k = 1")) > 1.2 * apart);
}

/// What is not kept of chances is not measured.
#[test]
fn not_measured() {
    for more in [
        "k = 2",
        "k = 1\ndefended = \"no\"",
        "k = 1\noutcome = \"evaluation\"",
    ] {
        let got = ask(&folds(6, 4), more);
        assert!(got.decision.is_none(), "{more}");
        assert_eq!(*got.evidence.at(Rung::Decision), Standing::NotMeasured);
        assert!(got.sentences[Rung::Decision as usize].starts_with("Not measured"));
    }
    let got = ask(&folds(6, 4), "k = 1\noutcome = \"score\"");
    assert!(got.decision.is_some());
}
