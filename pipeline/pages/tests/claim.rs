//! The page and the handout of a claim, from an answer built by hand.

use anyhow::Result;
use hobble_claim::answer::{
    Adjusted, ClaimAnswer, ClaimExample, Compared, Counts, Course, CurvePoint, Ended, ExampleRole,
    Finding, Finds, Guard, Guards, Ladder, MaterialLoss, Miss, NearMiss, Risk, Rung, Score, Shares,
    Standing, Task, TaskAnswer, TurnRisk, Twins, Varied, Verdict,
};
use hobble_claim::report;
use hobble_claim::{Claim, answer::FORMAT};
use hobble_conditions::terms::{Kind, Outcome, Phase};
use hobble_examples::{GameReference, MoveReference};
use hobble_pages::{handout, page};
use hobble_report::{Station, Stretch};

#[path = "common/parts.rs"]
mod parts;
use parts::{dataset, estimate, says, section};

fn compared(varied: Varied, within: u32) -> Compared {
    Compared {
        varied,
        k: 1,
        turns: 1,
        within,
        outcome: Outcome::Lost,
        held_rows: 1_200,
        held: 1_200,
        held_outcomes: 240,
        held_effective: 1_200.0,
        compared_held: 1_190,
        compared_held_outcomes: 238,
        covered: Some(0.99),
        compared_free_rows: 900,
        compared_free_effective: 800.0,
        compared_free: 9_000,
        compared_free_outcomes: 900,
        strata: 40,
        strata_left_out: 2,
        held_rate: estimate(0.2),
        free_rate: estimate(0.1),
        ratio: estimate(2.0),
        difference: estimate(0.1),
        too_few: None,
    }
}

fn guard(ratio: f64) -> Guard {
    Guard {
        ratio: estimate(ratio),
        beyond: estimate(2.0 / ratio),
        events: [300, 2_000],
        holds: true,
        few: None,
    }
}

fn ladder(twins: Standing) -> Ladder {
    let found = |value: f64| {
        Standing::Found(Finding {
            estimate: estimate(value),
            events: 238,
            holds: value > 1.3,
        })
    };
    Ladder {
        rungs: [
            (Rung::Association, found(2.0)),
            (Rung::Twins, twins),
            (Rung::Decision, Standing::NotMeasured),
            (Rung::Guards, found(1.2)),
            (Rung::Confirmation, Standing::NotAsked),
        ],
    }
}

fn shares(count: u64) -> Shares {
    Shares {
        count,
        share: estimate(count as f64 / 1_200.0),
    }
}

fn game() -> GameReference {
    GameReference {
        white_rating: Some(1500),
        ..parts::game("Ada <b>", "1-0")
    }
}

const BEFORE: &str = "rnbqkbnr/pppp1ppp/4p3/8/2B1P3/8/PPPP1PPP/RNBQK1NR b KQkq - 1 2";
const AFTER: &str = "rnbqkbnr/p1pp1ppp/4p3/1p6/2B1P3/8/PPPP1PPP/RNBQK1NR w KQkq - 0 3";

fn names(squares: &[&str]) -> Vec<String> {
    squares.iter().map(|square| (*square).to_owned()).collect()
}

fn stretch() -> Stretch {
    let station = |ply, fen: &str, safe| Station {
        ply,
        fen: fen.to_owned(),
        label: if ply == 4 { "2...b5" } else { "2. Bc4" }.to_owned(),
        played: Some(("b7".to_owned(), "b5".to_owned())),
        square: Some("c4".to_owned()),
        safe: names(safe),
    };
    Stretch {
        piece: "white bishop".to_owned(),
        began: 1,
        shown: 1,
        positions: vec![
            station(3, BEFORE, &["f1", "e2", "b3"]),
            station(4, AFTER, &["f1", "e2"]),
        ],
    }
}

fn example(role: ExampleRole) -> ClaimExample {
    ClaimExample {
        role,
        chosen: "Chosen because 2...b5 is a quiet, safe move.".to_owned(),
        state: "restrained",
        phase: Phase::Opening,
        turns: 2,
        threat: None,
        rule: "The most squares taken.".to_owned(),
        game: game(),
        start_fen: None,
        kind: Kind::Bishop,
        color: "white".to_owned(),
        square: "c4".to_owned(),
        fen_before: BEFORE.to_owned(),
        fen_after: AFTER.to_owned(),
        cause: MoveReference {
            ply: 4,
            label: "2...b5".to_owned(),
            san: "b5".to_owned(),
            from: "b7".to_owned(),
            to: "b5".to_owned(),
        },
        ended: None,
        captured: None,
        safe_before: names(&["f1", "e2", "b3"]),
        safe_after: names(&["f1", "e2"]),
        taken: names(&["b3"]),
        caption: String::new(),
        moves: Vec::new(),
        comments: Vec::new(),
        stretch: Some(stretch()),
    }
}

fn quiz() -> Task {
    let answer = |label: &str, played, safe: &[&str]| TaskAnswer {
        label: label.to_owned(),
        from: "b7".to_owned(),
        to: "b5".to_owned(),
        played,
        safe: names(safe),
    };
    Task {
        fen: BEFORE.to_owned(),
        to_move: "black".to_owned(),
        kind: Kind::Bishop,
        square: "c4".to_owned(),
        safe: names(&["f1", "b3"]),
        answers: vec![answer("2...b5", true, &["f1"])],
        near: vec![NearMiss {
            label: "2...d5".to_owned(),
            miss: Miss::GivesAway,
            safe: Vec::new(),
        }],
        game: game(),
    }
}

fn risk() -> Risk {
    Risk {
        at_risk: 900,
        met: 12,
        hazard: estimate(0.0133),
    }
}

fn twins() -> Twins {
    Twins {
        adjusted: Adjusted::Place,
        counts: Counts {
            sets: 500,
            own: 510,
            own_met: 40,
            free: 520,
            free_met: 20,
            telling: 55,
        },
        odds_ratio: estimate(1.7),
    }
}

fn score() -> Score {
    Score {
        label: "all such spells".to_owned(),
        games: 900,
        half_points: 930,
        compared_games: 890,
        comparable_games: 5_000,
        strata: 30,
        score: estimate(0.52),
        comparable: estimate(0.5),
        difference: estimate(-0.02),
        too_few: None,
    }
}

fn answer() -> Result<ClaimAnswer> {
    let text = "format = 1\nabout = \"claim\"\ntitle = \"A bishop hit by <pawns>\"\ntext = \"The idea.\"\nkinds = [\"bishop\"]\nk = 1\n";
    let mut k = compared(Varied::K, 10);
    k.k = 0;
    let mut turns = compared(Varied::Turns, 10);
    turns.turns = 3;
    let mut outcome = compared(Varied::Outcome, 10);
    outcome.outcome = Outcome::Captured;
    Ok(ClaimAnswer {
        format: FORMAT,
        hobble: "0.1.0".to_owned(),
        definitions: 1,
        claim: Claim::parse("c", "c.toml", text)?,
        level: 0.95,
        verdict: Verdict::new(
            Finds::Holds { rung: Rung::Twins },
            "Bishops were lost more often. That is an association.",
        ),
        evidence: ladder(Standing::Found(Finding {
            estimate: estimate(2.0),
            events: 238,
            holds: true,
        })),
        side: Vec::new(),
        sentences: Rung::ALL
            .map(|rung| format!("A sentence on {rung}."))
            .to_vec(),
        decision: None,
        by_turn: Course {
            turns: vec![TurnRisk {
                turn: 1,
                restrained: risk(),
                freed: risk(),
            }],
            ratio: estimate(1.5),
        },
        twins: vec![twins()],
        guards: Guards {
            others: guard(1.1),
            placebo: Some(guard(1.05)),
            e_value: None,
            side: None,
        },
        spells: 1_200,
        curve: (1..=20)
            .map(|moves| CurvePoint {
                moves,
                lost: shares(10 * u64::from(moves)),
                traded: shares(5 * u64::from(moves)),
                sold: shares(u64::from(moves)),
                over: shares(2),
            })
            .collect(),
        comparison: [3, 5, 10, 15, 20]
            .map(|within| compared(Varied::Within, within))
            .to_vec(),
        ends: vec![Ended {
            end: "lost while held".to_owned(),
            share: shares(100),
        }],
        scores: vec![score()],
        sensitivity: vec![k, compared(Varied::K, 10), turns, outcome],
        material: vec![MaterialLoss {
            within: 5,
            share: shares(300),
        }],
        examples: vec![
            example(ExampleRole::Clearest),
            example(ExampleRole::CounterExample),
        ],
        quiz: vec![quiz()],
        dataset: dataset("season.pgn", 1_400),
        notes: vec!["A caution.".to_owned()],
    })
}

#[test]
fn a_claim_page_says_verdict_figures_and_games_in_this_order() -> Result<()> {
    let html = page(&report(&answer()?))?;
    let order: Vec<_> = [
        "<h1>A bishop hit by &lt;pawns&gt;</h1>",
        "<p class=\"lead\">Bishops were lost more often. That is an association.</p>",
        "A sentence on association.",
        "A sentence on confirmation.",
        "id=\"evidence-wide\"",
        "id=\"before-1\"",
        "id=\"after-1\"",
        "id=\"curve-wide\"",
        "id=\"shares-wide\"",
        "aria-labelledby=\"compared\"",
        "aria-labelledby=\"twins\"",
        "aria-labelledby=\"guards\"",
        "What ended the spells",
        "What the restrainer scored",
        "A wider loss",
        "A caution.",
        "Games read: 1,400.",
    ]
    .iter()
    .map(|text| html.find(text))
    .collect();
    assert!(order.iter().all(Option::is_some), "{order:?}");
    assert!(order.is_sorted(), "{order:?}");
    let compared = section(&html, "compared");
    assert!(compared.contains("<th scope=\"row\">10 moves</th>"));
    says(
        compared,
        &["1,200", "20.0%", "16.0 to 24.0%", "2.00", "+10.0"],
    );
    let scored = section(&html, "scored");
    assert!(
        scored.contains("0.520") && scored.contains("\u{2212}0.020"),
        "{scored}"
    );
    assert!(section(&html, "games").contains("Ada &lt;b&gt; (1500)"));
    Ok(())
}

/// The boards to step through stand beside the fixed ones, with one script that the page's policy names
/// by its hash; the handout, for paper, has none.
#[test]
fn examples_play_their_games_on_the_page_alone() -> Result<()> {
    let html = page(&report(&answer()?))?;
    assert_eq!(html.matches("<div class=\"stretch\"").count(), 2);
    assert_eq!(html.matches("id=\"unit-white-knight\"").count(), 1);
    assert_eq!(html.matches("<script>").count(), 1);
    assert!(html.contains("script-src 'sha256-"));
    assert!(html.contains("[\"2. Bc4\",") && html.contains("[\"2...b5\","));
    let mut without = answer()?;
    for example in &mut without.examples {
        example.stretch = None;
    }
    let html = page(&report(&without))?;
    assert!(!html.contains("<script") && !html.contains("script-src"));
    let paper = handout(&answer()?)?;
    assert!(!paper.contains("<script") && !paper.contains("class=\"stretch\""));
    Ok(())
}

#[test]
fn each_row_of_the_choices_names_what_it_changes() -> Result<()> {
    let html = page(&report(&answer()?))?;
    let choices = section(&html, "otherwise");
    for name in [
        "No safe square",
        "One safe square at most (the claim)",
        "Held three turns at least",
        "Counted: captured",
    ] {
        let row = format!("<th scope=\"row\">{name}</th>");
        assert!(choices.contains(&row), "{name}: {choices}");
    }
    Ok(())
}

/// The picture of all rungs says in words what it shows, and why a rung has no figure.
#[test]
fn the_ladder_is_drawn_with_its_words() -> Result<()> {
    let html = page(&report(&answer()?))?;
    let drawn = section(&html, "evidence");
    says(
        drawn,
        &[
            "2.00 (1.60 to 2.40)",
            "Twins in one position 2.00",
            "squares taken, more left 1.05",
        ],
    );
    for (standing, words) in [
        (Standing::NoTwins, "no twins"),
        (Standing::FewTwins { have: 3, need: 20 }, "too few games"),
    ] {
        let mut none = answer()?;
        none.evidence = ladder(standing);
        let html = page(&report(&none))?;
        let want = format!("Twins in one position: {words}");
        assert!(section(&html, "evidence").contains(&want), "{want}");
    }
    Ok(())
}

/// A verdict that does not say so itself gets a sentence on association; too few games are
/// said in each cell and drawn as such.
#[test]
fn a_claim_with_too_few_games_says_so() -> Result<()> {
    let caution = "<p class=\"caution\">Whatever these games show is an association";
    assert!(!page(&report(&answer()?))?.contains(caution));
    let mut few = answer()?;
    few.verdict = Verdict::new(Finds::CannotTell, "Too few games to tell: 3 held spells.");
    for row in &mut few.comparison {
        row.too_few = Some(parts::lack("held spell", 3));
        for figure in [
            &mut row.held_rate,
            &mut row.free_rate,
            &mut row.ratio,
            &mut row.difference,
        ] {
            figure.value = None;
            figure.jackknife = None;
        }
    }
    let html = page(&report(&few))?;
    assert!(html.contains(caution));
    assert_eq!(
        section(&html, "compared")
            .matches("<span class=\"none\">too few games</span>")
            .count(),
        5 * 4
    );
    few.spells = 0;
    few.examples.clear();
    let html = page(&report(&few))?;
    assert!(html.contains("Nothing is drawn") && html.contains("No game was found"));
    assert!(!html.contains("curve-wide"));
    Ok(())
}

#[test]
fn a_handout_asks_before_it_answers() -> Result<()> {
    let html = handout(&answer()?)?;
    let quiz = section(&html, "quiz");
    assert!(quiz.contains("Black to move. Which move restrains the white bishop on c4?"));
    assert!(quiz.contains("after which the ringed piece has one safe square at most"));
    // The position of the task gives nothing away.
    for words in ["safe for it", "Dotted", "Crossed", "Arrow", "2...b5"] {
        assert!(!quiz.contains(words), "{words}: {quiz}");
    }
    let answers = section(&html, "answers");
    for words in [
        "Crossed, taken from it: b3.",
        "Dotted, still safe for it: f1.",
        "2...b5 \u{2013} played; leaves f1",
        "Not 2...d5: it gives something away; leaves no safe square",
    ] {
        assert!(answers.contains(words), "{words}: {answers}");
    }
    let mut bad = answer()?;
    bad.quiz[0].fen = "8/8 w".to_owned();
    let message = handout(&bad).err().map(|error| format!("{error:#}"));
    assert_eq!(
        message.as_deref().map(|text| text.split(": ").next()),
        Some(Some("position 1 of the quiz cannot be shown"))
    );
    Ok(())
}
