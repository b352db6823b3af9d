//! The committed season, read by another reader than the one that wrote it.

use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::path::Path;

use pgn_reader::{RawComment, RawTag, Reader, SanPlus, Skip, Visitor};
use shakmaty::fen::Fen;
use shakmaty::{CastlingMode, CastlingSide, Chess, Position, Role};

/// What one game holds.
#[derive(Default, Debug)]
struct Held {
    tags: BTreeMap<String, String>,
    plies: usize,
    counts: BTreeMap<&'static str, usize>,
    /// Seconds left after each move of White and of Black.
    clocks: [Vec<u32>; 2],
    checkmate: bool,
    stalemate: bool,
    white_on_move: bool,
}

struct Replay;

struct State {
    held: Held,
    position: Chess,
}

impl Visitor for Replay {
    type Tags = BTreeMap<String, String>;
    type Movetext = State;
    type Output = Held;

    fn begin_tags(&mut self) -> ControlFlow<Held, Self::Tags> {
        ControlFlow::Continue(BTreeMap::new())
    }

    fn tag(&mut self, tags: &mut Self::Tags, name: &[u8], value: RawTag<'_>) -> ControlFlow<Held> {
        let name = String::from_utf8_lossy(name).into_owned();
        let old = tags.insert(name.clone(), value.decode_utf8_lossy().into_owned());
        assert_eq!(old, None, "tag {name} comes twice");
        ControlFlow::Continue(())
    }

    fn begin_movetext(&mut self, tags: Self::Tags) -> ControlFlow<Held, State> {
        let mode = match tags.get("Variant").map(String::as_str) {
            Some("Chess960") => CastlingMode::Chess960,
            None => CastlingMode::Standard,
            Some(other) => panic!("no game of {other} was asked for"),
        };
        let position = match tags.get("FEN") {
            Some(fen) => fen
                .parse::<Fen>()
                .expect(fen)
                .into_position(mode)
                .expect(fen),
            None => Chess::default(),
        };
        let held = Held {
            tags,
            ..Held::default()
        };
        ControlFlow::Continue(State { held, position })
    }

    fn san(&mut self, state: &mut State, san: SanPlus) -> ControlFlow<Held> {
        let State { held, position } = state;
        let played = san
            .san
            .to_move(position)
            .unwrap_or_else(|error| panic!("{san} in {:?}: {error}", held.tags));
        let mut count = |what| *held.counts.entry(what).or_default() += 1;
        if played.is_capture() {
            count("capture");
        }
        if played.is_en_passant() {
            count("en passant");
        }
        match played.promotion() {
            Some(Role::Queen) => count("queen"),
            Some(_) => count("underpromotion"),
            None => {}
        }
        match played.castling_side() {
            Some(CastlingSide::KingSide) => count("castling short"),
            Some(CastlingSide::QueenSide) => count("castling long"),
            None => {}
        }
        // The sign behind the move must be right as well.
        assert_eq!(SanPlus::from_move(position.clone(), played), san);
        position.play_unchecked(played);
        held.plies += 1;
        ControlFlow::Continue(())
    }

    fn begin_variation(&mut self, state: &mut State) -> ControlFlow<Held, Skip> {
        *state.held.counts.entry("variation").or_default() += 1;
        ControlFlow::Continue(Skip(true))
    }

    fn nag(&mut self, state: &mut State, _: pgn_reader::Nag) -> ControlFlow<Held> {
        *state.held.counts.entry("mark").or_default() += 1;
        ControlFlow::Continue(())
    }

    fn comment(&mut self, state: &mut State, comment: RawComment<'_>) -> ControlFlow<Held> {
        let text = std::str::from_utf8(comment.as_bytes()).expect("comments are UTF-8");
        *state.held.counts.entry("comment").or_default() += 1;
        if text.contains("[%eval ") {
            *state.held.counts.entry("eval").or_default() += 1;
        }
        if let Some((_, after)) = text.split_once("[%clk ") {
            let reading = after.split(']').next().expect("split gives one at least");
            let seconds = reading.split(':').fold(0, |sum, part| {
                sum * 60 + part.parse::<u32>().expect(reading)
            });
            // The comment follows the move of the side that is not on move now.
            let mover = usize::from(state.position.turn().is_white());
            state.held.clocks[mover].push(seconds);
        }
        ControlFlow::Continue(())
    }

    fn end_game(&mut self, mut state: State) -> Held {
        state.held.checkmate = state.position.is_checkmate();
        state.held.stalemate = state.position.is_stalemate();
        state.held.white_on_move = state.position.turn().is_white();
        state.held
    }
}

fn season() -> Vec<Held> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../season.pgn");
    let bytes = std::fs::read(path).expect("the season is committed");
    let mut reader = Reader::new(bytes.as_slice());
    let mut games = Vec::new();
    while let Some(game) = reader.read_game(&mut Replay).expect("memory can be read") {
        games.push(game);
    }
    games
}

fn sum(games: &[Held], what: &str) -> usize {
    games.iter().filter_map(|game| game.counts.get(what)).sum()
}

#[test]
fn every_game_is_legal_and_says_how_it_ended() {
    let games = season();
    assert_eq!(games.len(), 400);
    for game in &games {
        let result = game.tags["Result"].as_str();
        if game.checkmate {
            let winner = if game.white_on_move { "0-1" } else { "1-0" };
            assert_eq!(result, winner, "{:?}", game.tags);
        }
        if game.stalemate {
            assert_eq!(result, "1/2-1/2", "{:?}", game.tags);
        }
        let unfinished = game.tags["Termination"] == "unterminated";
        assert_eq!(result == "*", unfinished, "{:?}", game.tags);
    }
}

#[test]
fn clocks_never_gain_more_than_the_increment() {
    let mut read = 0;
    for game in season() {
        let control = game.tags.get("TimeControl").map_or("", String::as_str);
        // (base, increment, move and seconds of a second stage)
        let (base, increment, stage) = match control {
            "40/5400:1800" => (5400, 0, Some((40, 1800))),
            _ => {
                let (base, increment) = control.split_once('+').unwrap_or((control, "0"));
                let Ok(base) = base.parse::<u32>() else {
                    assert_eq!(game.clocks, [vec![], vec![]]);
                    continue;
                };
                (base, increment.parse::<u32>().expect(control), None)
            }
        };
        for clock in &game.clocks {
            let mut before = base;
            for (index, &left) in clock.iter().enumerate() {
                let bonus = stage
                    .filter(|(moves, _)| *moves == index + 1)
                    .map_or(0, |(_, bonus)| bonus);
                assert!(left <= before + increment + bonus, "{:?}", game.tags);
                before = left;
                read += 1;
            }
        }
    }
    assert!(read > 20_000, "{read} clock readings");
}

#[test]
fn the_season_holds_what_a_season_should() {
    let games = season();
    let at_least = [
        ("capture", 5000),
        ("en passant", 10),
        ("queen", 50),
        ("underpromotion", 2),
        ("castling short", 100),
        ("castling long", 50),
        ("variation", 200),
        ("mark", 200),
        ("comment", 10_000),
        ("eval", 3000),
    ];
    for (what, least) in at_least {
        let found = sum(&games, what);
        assert!(found >= least, "{what}: {found}");
    }
    let count = |test: &dyn Fn(&Held) -> bool| games.iter().filter(|game| test(game)).count();
    let tag = |game: &Held, name: &str, value: &str| {
        game.tags.get(name).is_some_and(|held| held == value)
    };
    assert_eq!(count(&|g| tag(g, "Variant", "Chess960")), 20);
    assert_eq!(
        count(&|g| g.tags.contains_key("FEN") && !g.tags.contains_key("Variant")),
        8
    );
    assert_eq!(count(&|g| g.plies == 0), 2);
    assert!(count(&|g| g.checkmate) >= 50);
    assert!(count(&|g| g.stalemate) >= 1);
    assert!(count(&|g| tag(g, "Result", "*")) >= 3);
    assert!(count(&|g| tag(g, "Result", "1/2-1/2")) >= 30);
    assert!(count(&|g| tag(g, "Termination", "time forfeit")) >= 5);
    assert!(count(&|g| tag(g, "WhiteElo", "-") || tag(g, "BlackElo", "-")) >= 20);
    assert!(count(&|g| !g.tags.contains_key("WhiteElo")) >= 5);
    assert!(count(&|g| !g.tags.contains_key("TimeControl")) >= 2);
    assert!(count(&|g| g.plies > 150) >= 3 && count(&|g| g.plies > 0 && g.plies < 30) >= 5);
}

#[test]
fn seven_tags_come_first_in_every_game() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../season.pgn");
    let text = std::fs::read_to_string(path).expect("the season is UTF-8");
    let roster = ["Event", "Site", "Date", "Round", "White", "Black", "Result"];
    let mut games = 0;
    for head in text
        .split("\n\n")
        .filter(|part| part.starts_with("[Event "))
    {
        let names: Vec<&str> = head
            .lines()
            .map(|line| {
                line[1..]
                    .split(' ')
                    .next()
                    .expect("split gives one at least")
            })
            .collect();
        assert_eq!(names[..7], roster);
        games += 1;
    }
    assert_eq!(games, 400);
}
