//! The page about one player, from an answer built by hand.

use anyhow::Result;
use hobble_conditions::QuestionText;
use hobble_examples::GameReference;
use hobble_pages::page;
use hobble_player::answer::{
    Bin, Board, FORMAT, Figure, Finding, Found, GameToSee, Group, HabitsAnswer, Left, Measure,
    MissedChance, Parameters, PeersFound, PeersFrom, Replies, Section, Spelling, Spellings, TooFew,
    Trend, Unit,
};
use hobble_player::report;
use hobble_statistics::Estimate;

#[path = "common/parts.rs"]
mod parts;
use parts::{dataset, estimate, interval, says, section};

fn figure(value: f64) -> Figure {
    Figure {
        events: 40,
        base: 32,
        value: Some(value),
        interval: interval(value),
    }
}

fn measure(name: &str, label: &str, unit: Unit, value: f64) -> Measure {
    Measure {
        name: name.to_owned(),
        label: label.to_owned(),
        unit,
        of: "games".to_owned(),
        you: figure(value),
        peers: figure(value / 2.0),
        ratio: estimate(2.0),
        difference: estimate(value / 2.0),
        sampled: false,
        covered: Some(1.0),
        adjusted: Some(0.01),
        stands_out: true,
        too_few: None,
        verdict: format!("{label}: more than peers."),
    }
}

/// A measure without figures, for a reason.
fn without(label: &str, too_few: TooFew) -> Measure {
    let none = Estimate {
        value: None,
        jackknife: None,
    };
    let mut one = measure("held_knights", label, Unit::PerGame, 1.0);
    for side in [&mut one.you, &mut one.peers] {
        side.value = None;
        side.interval = None;
    }
    (one.ratio, one.difference, one.too_few) = (none, none, Some(too_few));
    one
}

fn bin(label: &str) -> Bin {
    Bin {
        label: label.to_owned(),
        games: 16,
        held: figure(1.25),
        lost: figure(0.2),
    }
}

fn game() -> GameToSee {
    GameToSee {
        game: GameReference {
            event: Some("Club night".to_owned()),
            ..parts::game("Windlass, Orla", "0-1")
        },
        offset: 12_345,
        color: "white".to_owned(),
        kind: "bishop".to_owned(),
        start_ply: 4,
        turns: 2,
        end: "lost".to_owned(),
        end_ply: 8,
        missed: Some(1),
        caption: String::new(),
        shown: "It stayed held for 2 turns.".to_owned(),
        board: Some(Board {
            fen: "rnbqkbnr/p1pp1ppp/4p3/1p6/2B1P3/8/PPPP1PPP/RNBQK1NR w KQkq - 0 3".to_owned(),
            ply: 4,
            square: "c4".to_owned(),
            safe: vec!["e2".to_owned()],
            reply: Some("3. Bb3".to_owned()),
            arrow: Some(("c4".to_owned(), "b3".to_owned())),
            replies: 2,
            played: "3. d3".to_owned(),
        }),
        stretch: None,
    }
}

fn missed_chance() -> MissedChance {
    MissedChance {
        game: parts::game("Windlass, Orla", "1-0"),
        offset: 12,
        color: "white".to_owned(),
        ply: 6,
        fen: "r1bqkbnr/ppp2ppp/2n5/3pp3/8/4PN2/PPPP1PPP/RNBQKB1R w KQkq - 0 4".to_owned(),
        kind: "knight".to_owned(),
        square: "c6".to_owned(),
        answer: "4. Bb5".to_owned(),
        arrow: ("f1".to_owned(), "b5".to_owned()),
        answers: 1,
        taken: vec!["b4".to_owned(), "d4".to_owned()],
        left: vec!["b8".to_owned()],
        played: "4. d3".to_owned(),
        material_10: None,
        caption: "4. Bb5 would have left it 1 safe square.".to_owned(),
    }
}

fn found() -> Found {
    Found {
        name: "Windlass, <Orla>".to_owned(),
        aliases: Vec::new(),
        spellings: Spellings {
            counted: vec![Spelling {
                spelling: "Windlass, <Orla>".to_owned(),
                white: 20,
                black: 12,
            }],
            not_counted: Vec::new(),
        },
        games: 32,
        white: 20,
        both_sides: 0,
        strata: vec![("1400-1599".to_owned(), "blitz".to_owned(), 32)],
    }
}

fn replies() -> Replies {
    Replies {
        left_out: None,
        lost_spells: 4,
        spells: 4,
        games: 4,
        turns: 9,
        there: 5,
        played: 1,
        missed: 4,
        too_few: None,
        share: None,
        interval: None,
        verdict: "A freeing reply was not played in 4 of 9 turns.".to_owned(),
    }
}

fn answer() -> HabitsAnswer {
    HabitsAnswer {
        format: FORMAT,
        hobble: "0.1.0".to_owned(),
        definitions: 1,
        question: QuestionText {
            name: "own-habits".to_owned(),
            title: "Own habits".to_owned(),
            text: "What is asked.".to_owned(),
        },
        parameters: Parameters {
            k: 2,
            within: 10,
            long: 3,
            minimum_games: 20,
            minimum_event_games: 5,
            replies_turns: 100,
            level: 0.95,
        },
        player: found(),
        peers: PeersFound {
            from: PeersFrom::OwnTables,
            sides: 206,
            names: 15,
            games_without: 0,
            dataset: Some(dataset("peers.pgn", 40)),
        },
        dataset: dataset("own.pgn", 40),
        findings: vec![
            finding("Knights held", Some(game()), None),
            finding("Chances taken", None, Some(missed_chance())),
        ],
        findings_rule: "Three at most.".to_owned(),
        verdicts: vec!["Pieces are held more often than with peers.".to_owned()],
        sections: vec![Section {
            title: "How often pieces get held".to_owned(),
            measures: vec![
                measure("held", "Own pieces held, a game", Unit::PerGame, 1.25),
                without("Knights held, a game", TooFew::Games { have: 10, need: 20 }),
                without("Bishops held, a game", TooFew::NoPeers),
            ],
        }],
        groups: vec![Group {
            by: "colour".to_owned(),
            label: "White".to_owned(),
            games: 20,
            measures: vec![measure(
                "held",
                "Own pieces held, a game",
                Unit::PerGame,
                1.0,
            )],
        }],
        left: Left {
            you: Some(2),
            peers: Some(3),
        },
        replies: replies(),
        prevention: None,
        trend: Trend {
            by: "year".to_owned(),
            bins: vec![bin("2023"), bin("2024")],
            undated: 1,
            verdict: "These games show no trend.".to_owned(),
        },
        games: vec![game()],
        games_rule: "One held piece a game.".to_owned(),
        missed_chances: vec![missed_chance()],
        missed_chances_rule: "One chance a game.".to_owned(),
        methods: Vec::new(),
        notes: vec!["A caution.".to_owned()],
    }
}

fn finding(text: &str, game: Option<GameToSee>, chance: Option<MissedChance>) -> Finding {
    Finding {
        figure: "held_knights".to_owned(),
        text: format!("{text}: more than peers."),
        look_for: "Look twice.".to_owned(),
        game,
        chance,
    }
}

/// Each finding stands above a board of its own; what else was found follows.
#[test]
fn findings_come_first_with_their_boards() -> Result<()> {
    let html = page(&report(&answer()))?;
    let found = section(&html, "found");
    says(
        found,
        &[
            "1. Knights held: more than peers.",
            "2. Chances taken: more than peers.",
            "Look twice. The position before ",
            "Look twice. In this game: ",
        ],
    );
    let besides = found.find("Found besides").unwrap();
    assert!(found.find("2. Chances taken").unwrap() < besides);
    assert!(found.contains("Pieces are held more often than with peers."));
    for id in ["finding-1", "finding-2"] {
        assert!(found.contains(&format!("id=\"{id}")), "{id}");
    }
    Ok(())
}

#[test]
fn the_page_shows_the_player_beside_peers() -> Result<()> {
    let html = page(&report(&answer()))?;
    assert!(html.contains("<h1>Own habits: Windlass, &lt;Orla&gt;</h1>"));
    let found = section(&html, "found");
    assert!(found.contains("in 32 games, 20 with White and 12 with Black"));
    assert!(found.contains("A freeing reply was not played in 4 of 9 turns."));
    assert!(section(&html, "pictured").contains("id=\"peers-wide\""));
    let figures = section(&html, "figures");
    says(
        figures,
        &[
            "40 of 32",
            "<span class=\"value\">1.25</span><span class=\"interval\">1.00 to 1.50</span>",
            "Median number of turns a piece was left held: 2. The peers\u{2019} median is 3.",
        ],
    );
    let time = section(&html, "time");
    assert!(time.contains("id=\"over-time-wide\"") && time.contains("id=\"lost-over-time-wide\""));
    assert!(time.contains("One game has no date"));
    assert!(section(&html, "parts").contains("White (20 games)"));
    let data = section(&html, "data");
    assert!(data.contains("own.pgn") && data.contains("peers.pgn"));
    Ok(())
}

/// Too few games and no peers are different reasons, in the table and in the plot.
#[test]
fn a_missing_figure_says_why() -> Result<()> {
    let html = page(&report(&answer()))?;
    let figures = section(&html, "figures");
    let row = |label: &str| {
        let rest = figures.split_once(label).map_or("", |(_, rest)| rest);
        rest.split_once("</tr>").map_or("", |(row, _)| row)
    };
    assert!(row("Knights held").contains("<span class=\"none\">too few games</span>"));
    assert!(row("Bishops held").contains("<span class=\"none\">no peers</span>"));
    let mut none = answer();
    none.sections[0].measures.remove(0);
    none.trend.bins.pop();
    let html = page(&report(&none))?;
    assert!(section(&html, "pictured").contains("Nothing is drawn: too few games, or no peers."));
    assert!(!html.contains("id=\"over-time-wide\""));
    Ok(())
}

#[test]
fn the_board_of_a_missed_chance_shows_the_move() -> Result<()> {
    let html = page(&report(&answer()))?;
    let missed = section(&html, "missed");
    says(
        missed,
        &[
            "<h3>1. 4. Bb5 to restrain the knight on c6</h3>",
            "Arrow: the move from f1 to b5.",
            "a move that would have taken them",
            "4. Bb5 would have left it 1 safe square.",
        ],
    );
    let mut none = answer();
    none.missed_chances.clear();
    let html = page(&report(&none))?;
    assert!(section(&html, "missed").contains("no chance to restrain that the player let pass"));
    Ok(())
}

#[test]
fn the_board_of_a_game_shows_the_reply() -> Result<()> {
    let html = page(&report(&answer()))?;
    let look = section(&html, "look");
    says(
        look,
        &[
            "<h3>1. White bishop on c4, before 3. d3</h3>",
            "Arrow: the move from c4 to b3.",
            "a reply that would have freed it",
            "It stayed held for 2 turns.",
            "12,345",
        ],
    );
    assert!(!look.contains("square taken from it"));
    let mut bad = answer();
    bad.games[0].color = "green".to_owned();
    if let Some(board) = &mut bad.games[0].board {
        board.square = "k9".to_owned();
    }
    let message = page(&report(&bad)).err().map(|error| format!("{error:#}"));
    assert_eq!(
        message.as_deref(),
        Some("game 1 cannot be shown: invalid square \"k9\": invalid square name")
    );
    Ok(())
}
