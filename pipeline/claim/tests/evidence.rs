//! The ladder of evidence of a claim, over rows worked out by hand.

use hand_made_tables::Turn;
use hobble_claim::answer::{Finds, Rung, Standing, Varied};
use hobble_claim::{Claim, ClaimAnswer};

#[path = "common/knight.rs"]
mod knight;

fn claim(more: &str) -> Claim {
    knight::claim(&format!("k = 1\n{more}"))
}

fn ask(rows: &[Turn], claim: &Claim) -> ClaimAnswer {
    knight::ask(rows, None, claim)
}

/// `games` games in each of eight folds; `of` makes the rows of a game by its number in the
/// fold and the fold.
fn folds(games: u32, of: impl Fn(u32, u8) -> Vec<Turn>) -> Vec<Turn> {
    let mut rows = Vec::new();
    for fold in 0..8_u8 {
        for number in 0..games {
            let game = number * 64 + u32::from(fold);
            rows.extend(
                of(number, fold)
                    .into_iter()
                    .map(|row| Turn { game, fold, ..row }),
            );
        }
    }
    rows
}

/// A restrained knight in each game and a free one in the next ply, each lost in so many games
/// of a fold, in odd folds in one more.
fn apart(own: u32, free: u32) -> Vec<Turn> {
    lost_in(|fold| [own, free].map(|lost| lost + u32::from(fold % 2)))
}

/// A restrained knight in each game and a free one in the next ply, lost in the first games of a
/// fold: so many.
fn lost_in(lost: impl Fn(u8) -> [u32; 2]) -> Vec<Turn> {
    folds(20, |number, fold| {
        let other = Turn {
            ply: 30,
            ..Turn::default()
        };
        let both = std::iter::zip([Turn::restrained(), other], lost(fold));
        let one = |(piece, lost): (Turn, u32)| match number < lost {
            true => piece.lost(36),
            false => piece,
        };
        both.map(one).collect()
    })
}

fn own(answer: &ClaimAnswer) -> &hobble_claim::answer::Compared {
    &answer.comparison[2]
}

#[test]
fn association_by_hand() {
    let got = ask(&apart(6, 3), &claim(""));
    let row = own(&got);
    assert_eq!((row.within, row.held, row.compared_free), (10, 160, 160));
    assert_eq!((row.held_outcomes, row.compared_free_outcomes), (52, 28));
    assert!((row.ratio.value.unwrap() - 52.0 / 28.0).abs() < 1e-12);
    assert_eq!((row.covered, row.strata), (Some(1.0), 1));
    assert!(got.evidence.at(Rung::Association).holds());
    // Lost at ply 36, four moves after the landmark: not yet by three.
    assert_eq!(got.comparison[0].held_outcomes, 0);
    assert_eq!(got.comparison[1].held_outcomes, 52);
}

/// A row of a sampled turn stands for sixteen, one of a landmark turn for itself.
#[test]
fn rows_are_weighted() {
    let rows: Vec<Turn> = apart(6, 3)
        .into_iter()
        .map(|row| Turn {
            landmark: row.safe == 1,
            sampled: row.safe > 1,
            ..row
        })
        .collect();
    let got = ask(&rows, &claim(""));
    let row = own(&got);
    assert_eq!((row.compared_free_rows, row.compared_free), (160, 160 * 16));
    assert!((row.compared_free_effective - 160.0).abs() < 1e-9);
    assert!((row.ratio.value.unwrap() - 52.0 / 28.0).abs() < 1e-12);
    // Half of the free rows weigh 1, half 16: (80 + 80 × 16)² / (80 + 80 × 256).
    let mixed: Vec<Turn> = rows
        .into_iter()
        .map(|row| Turn {
            landmark: row.landmark || row.game / 64 % 2 == 0,
            ..row
        })
        .collect();
    let got = ask(&mixed, &claim(""));
    let want = 1360.0 * 1360.0 / (80.0 + 80.0 * 256.0);
    assert!((own(&got).compared_free_effective - want).abs() < 1e-9);
}

/// What differs in what is matched is not compared; a free piece that was attacked, or had no
/// more squares at its owner's last turn, is not a free piece.
#[test]
fn only_alike_pieces_are_compared() {
    type Change = fn(Turn) -> Turn;
    let changes: [(&str, Change); 10] = [
        ("phase", |row| Turn {
            phase: "endgame",
            ..row
        }),
        ("move", |row| Turn {
            ply: row.ply + 20,
            fate_ply: row.fate_ply.map(|ply| ply + 20),
            ..row
        }),
        ("balance", |row| Turn { balance: -2, ..row }),
        ("band", |row| Turn {
            band: "1600-1799",
            ..row
        }),
        ("time class", |row| Turn {
            time_class: "blitz",
            ..row
        }),
        ("defended", |row| Turn {
            defenders: 0,
            ..row
        }),
        ("squares before", |row| Turn {
            safe_before_last: Some(1),
            ..row
        }),
        ("others held", |row| Turn {
            others_held: 1,
            ..row
        }),
        ("attacked then", |row| Turn {
            attacked_last: Some(true),
            ..row
        }),
        ("few squares then", |row| Turn {
            safe_last: Some(1),
            ..row
        }),
    ];
    for (name, change) in changes {
        let rows: Vec<Turn> = apart(6, 3)
            .into_iter()
            .map(|row| if row.safe > 1 { change(row) } else { row })
            .collect();
        let got = ask(&rows, &claim(""));
        assert_eq!(own(&got).compared_held, 0, "{name}");
        assert_eq!(got.verdict.finds, Finds::CannotTell, "{name}");
    }
    // Attacked now follows from the restraint, so it is not matched, but may be.
    let attacked: Vec<Turn> = apart(6, 3)
        .into_iter()
        .map(|row| Turn {
            attackers: u8::from(row.safe > 1),
            ..row
        })
        .collect();
    let got = ask(&attacked, &claim(""));
    assert_eq!(own(&got).compared_held, 160);
    let too = got
        .sensitivity
        .iter()
        .find(|row| row.varied == Varied::AttackedToo);
    assert_eq!(too.map(|row| row.compared_held), Some(0));
}

/// Half of the pieces in a stratum with four free rows: they are left out, and half is no
/// verdict.
#[test]
fn too_little_compared() {
    let mut rows: Vec<Turn> = apart(6, 3)
        .into_iter()
        .map(|row| {
            if row.safe == 1 && row.game / 64 % 2 == 0 {
                Turn { balance: 5, ..row }
            } else {
                row
            }
        })
        .collect();
    let free = |game| Turn {
        game,
        fold: (game % 64) as u8,
        balance: 5,
        ..Turn::default()
    };
    rows.extend((2000..2004).map(free));
    let got = ask(&rows, &claim(""));
    assert_eq!(own(&got).covered, Some(0.5));
    assert_eq!(
        got.evidence.at(Rung::Association),
        &Standing::Uncovered { share: 0.5 }
    );
    assert!(
        got.verdict
            .to_string()
            .contains("of such pieces have comparable"),
        "{}",
        got.verdict
    );
    rows.push(free(2004));
    let got = ask(&rows, &claim(""));
    assert_eq!(own(&got).covered, Some(1.0));
}

/// Pairs in one position: in `own` games of a fold the restrained knight alone is lost, in
/// `free` the free one alone; `whole` says in how many a bishop of the side is lost as well.
fn pairs(own: u32, free: u32, others: u32) -> Vec<Turn> {
    folds(20, |number, fold| {
        let (own, free) = (own + u32::from(fold % 2), free + u32::from(fold % 3 % 2));
        let bishop = (number % 20 < others).then_some(40);
        let with = |piece: Turn| Turn {
            others_lost_ply: bishop,
            ..piece
        };
        let (one, other) = (Turn::restrained(), Turn::default());
        match number {
            n if n < own => vec![with(one.lost(36)), with(other)],
            n if n < own + free => vec![with(one), with(other.lost(36))],
            _ => vec![with(one), with(other)],
        }
    })
}

#[test]
fn twins_are_discordant_pairs() {
    let got = ask(&pairs(6, 2, 1), &claim(""));
    let twins = &got.twins[0];
    assert_eq!((twins.counts.sets, twins.counts.telling), (160, 71));
    assert_eq!((twins.counts.own_met, twins.counts.free_met), (52, 19));
    // Of pairs the odds ratio is the quotient of the two sorts of discordant ones.
    assert!((twins.odds_ratio.value.unwrap() - 52.0 / 19.0).abs() < 1e-6);
    assert!(got.evidence.at(Rung::Twins).holds());
    assert_eq!(got.verdict.finds, Finds::Holds { rung: Rung::Guards });
}

/// With an effect on all pieces of the side the association holds, the twins do not, and the
/// climb ends there; the side's other pieces are lost as often.
#[test]
fn an_effect_on_the_whole_side_is_no_effect_on_the_piece() {
    let rows = folds(40, |number, fold| {
        let (bad, at) = (number % 2 == 0, number / 2);
        // Of twenty positions of a fold so many, more in some folds than in others.
        let share = |more: u8| if bad { 11 } else { 2 } + 2 * u32::from(more);
        let of = |times: u32, from: u32, more: u8| {
            (at * times + from + u32::from(fold)) % 20 < share(more)
        };
        let others_lost_ply = of(3, 0, fold / 2 % 2).then_some(40);
        let knight = |from: u32, piece: Turn| {
            let piece = Turn {
                others_lost_ply,
                ..piece
            };
            if of(7, from, fold % 2) {
                piece.lost(36)
            } else {
                piece
            }
        };
        let first = if bad {
            Turn::restrained()
        } else {
            Turn::default()
        };
        vec![knight(0, first), knight(5, Turn::default())]
    });
    let got = ask(&rows, &claim(""));
    assert!(got.evidence.at(Rung::Association).holds());
    assert!(got.evidence.at(Rung::Twins).fails(), "{:?}", got.twins[0]);
    assert!(got.evidence.at(Rung::Guards).fails(), "{:?}", got.guards);
    let rung = Rung::Association;
    assert_eq!(got.verdict.finds, Finds::Holds { rung });
    let words = got.verdict.to_string();
    assert!(words.contains("may be chance"), "{words}");
}

/// A quiet move that took squares but left three: lost as often as the free, it is the placebo
/// that should show nothing; lost as often as the restrained, the guard does not hold.
#[test]
fn squares_taken_but_not_so_many() {
    for (lost, holds) in [(2, true), (7, false)] {
        let mut rows = apart(7, 2);
        let placebo = Turn {
            safe: 3,
            safe_last: Some(3),
            restrained: [None, None, None, Some(1), Some(1)],
            restrained_by: Some("pawn"),
            restrained_taken: Some(2),
            ply: 32,
            ..Turn::default()
        };
        rows.extend(folds(20, |number, fold| {
            let one = placebo.clone();
            vec![if number < lost + u32::from(fold % 2) {
                one.lost(36)
            } else {
                one
            }]
        }));
        let got = ask(&rows, &claim(""));
        let guard = got.guards.placebo.unwrap();
        assert_eq!(guard.holds, holds, "{guard:?}");
        // The free are not compared with themselves.
        let want = f64::from(lost * 8 + 4) / f64::from(2 * 8 + 4);
        assert!((guard.ratio.value.unwrap() - want).abs() < 1e-12);
    }
}

#[test]
fn not_what_these_games_say() {
    // As many on both sides, but in other folds: chance.
    let even = lost_in(|fold| [fold % 2, (fold + 1) % 2].map(|more| 3 + u32::from(more)));
    for rows in [even, apart(1, 9)] {
        let got = ask(&rows, &claim(""));
        assert_eq!(got.verdict.finds, Finds::NotSo);
        let words = got.verdict.to_string();
        assert!(words.starts_with("Not what these games say."), "{words}");
    }
    let few: Vec<Turn> = apart(6, 3).into_iter().filter(|row| row.fold < 3).collect();
    let got = ask(&few, &claim(""));
    assert_eq!(got.verdict.finds, Finds::CannotTell);
    assert!(own(&got).ratio.jackknife.is_none());
}

/// Queens have no twins.
#[test]
fn queens() {
    let queens: Vec<Turn> = apart(6, 3)
        .into_iter()
        .map(|row| Turn {
            kind: "queen",
            ..row
        })
        .collect();
    let claim = Claim {
        kinds: vec![hobble_conditions::terms::Kind::Queen],
        ..claim("")
    };
    let got = ask(&queens, &claim);
    assert_eq!(got.evidence.at(Rung::Twins), &Standing::NoTwins);
}
