//! The season: its events, who meets whom, and all games in the order they were played.

use crate::annotations::{Wanted, annotate};
use crate::calendar::Date;
use crate::chance::Chance;
use crate::clock::{self, Control};
use crate::endings::Score;
use crate::game::{Fate, Game, Kind, Pairing, play};
use crate::lessons::LESSONS;
use crate::openings;
use crate::people::{CLUBS, LEAGUE, PLAYERS, Rating, on_board};
use crate::pgn::{self, Style};
use crate::ratings::Ratings;
use crate::shuffled;

/// Streams of chance beyond those of the games (which count from 0).
const PAIRINGS: u64 = 1 << 40;
const SLIPS: u64 = 1 << 41;

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Series {
    League,
    Rapid,
    Blitz,
    Bullet,
    Post,
    Shuffled,
    Lessons,
    Friendly,
}

/// An event of the season.
struct Event {
    series: Series,
    name: &'static str,
    venue: &'static str,
    /// Its share of 400 games.
    share: usize,
    /// Games of one date.
    an_evening: usize,
    /// Day of its first date, days between its dates.
    days: (u32, u32),
    style: Style,
}

const PLAIN: Style = Style {
    signs: false,
    airy: false,
    one_line: false,
    apart: false,
    remark: false,
};

const EVENTS: [Event; 8] = [
    Event {
        series: Series::League,
        name: "Orrick Vale League",
        venue: "",
        share: 120,
        an_evening: 12,
        days: (12, 21),
        style: Style {
            remark: true,
            ..PLAIN
        },
    },
    Event {
        series: Series::Rapid,
        name: "Lantern Saturday Rapid",
        venue: "Quillhaven, Reading Hall",
        share: 84,
        an_evening: 12,
        days: (19, 28),
        style: Style {
            airy: true,
            ..PLAIN
        },
    },
    Event {
        series: Series::Blitz,
        name: "Thursday Blitz Ladder",
        venue: "Tarrowby, Weavers' Room",
        share: 100,
        an_evening: 10,
        days: (3, 21),
        style: Style {
            one_line: true,
            ..PLAIN
        },
    },
    Event {
        series: Series::Bullet,
        name: "Millrace Bullet Night",
        venue: "Little Dray, Back Parlour",
        share: 44,
        an_evening: 11,
        days: (39, 56),
        style: Style {
            one_line: true,
            airy: true,
            ..PLAIN
        },
    },
    Event {
        series: Series::Post,
        name: "Winter Post \"Snowed In\"",
        venue: "by post",
        share: 12,
        an_evening: 6,
        days: (60, 30),
        style: Style {
            signs: true,
            remark: true,
            ..PLAIN
        },
    },
    Event {
        series: Series::Shuffled,
        name: "Shuffled Start Evening",
        venue: "Cobblewick, Old Gymnasium",
        share: 20,
        an_evening: 10,
        days: (74, 90),
        style: Style {
            apart: true,
            ..PLAIN
        },
    },
    Event {
        series: Series::Lessons,
        name: "Lesson Evening",
        venue: "Oxenmere, Ferry House",
        share: 8,
        an_evening: 4,
        days: (50, 100),
        style: Style {
            remark: true,
            ..PLAIN
        },
    },
    Event {
        series: Series::Friendly,
        name: "Friendly",
        venue: "?",
        share: 12,
        an_evening: 3,
        days: (30, 50),
        style: Style {
            signs: true,
            remark: true,
            ..PLAIN
        },
    },
];

/// A game to come.
struct Fixture {
    event: usize,
    date: Date,
    day: u32,
    round: String,
    site: String,
    pairing: Pairing,
}

/// The games of a season in order, each as its text, played as they are asked for.
pub fn games(seed: u64, count: usize) -> impl Iterator<Item = String> {
    let mut ratings = Ratings::start();
    fixtures(seed, count)
        .into_iter()
        .enumerate()
        .map(move |(index, fixture)| {
            let fixture = &fixture;
            let mut chance = Chance::new(seed, index as u64);
            let game = play(&fixture.pairing, &mut chance);
            let notes = match wanted(fixture, index) {
                Some(wanted) => annotate(&game, wanted, &mut chance),
                None => Vec::new(),
            };
            let mut slips = Chance::new(seed, SLIPS + index as u64);
            let tags = tags(fixture, &game, &mut ratings, &mut slips);
            if let Some(points) = game.score.points()
                && !game.moves.is_empty()
                && fixture.pairing.kind == Kind::Usual
            {
                ratings.book(fixture.pairing.white, fixture.pairing.black, points);
            }
            pgn::text(&tags, &game, &notes, EVENTS[fixture.event].style)
        })
}

/// How many games each event gets; the shares add up to `count`.
fn shares(count: usize) -> [usize; EVENTS.len()] {
    let whole: usize = EVENTS.iter().map(|event| event.share).sum();
    let mut shares = [0; EVENTS.len()];
    let (mut before, mut sum) = (0, 0);
    for (share, event) in shares.iter_mut().zip(&EVENTS) {
        sum += event.share;
        let until = sum * count / whole;
        *share = until - before;
        before = until;
    }
    shares
}

fn fixtures(seed: u64, count: usize) -> Vec<Fixture> {
    let mut all = Vec::new();
    for (event, share) in shares(count).into_iter().enumerate() {
        let mut chance = Chance::new(seed, PAIRINGS + event as u64);
        add_event(&mut all, event, share, &mut chance);
    }
    // By date; those of one date stay in the order of the events and boards.
    all.sort_by_key(|fixture: &Fixture| fixture.day);
    all
}

fn add_event(all: &mut Vec<Fixture>, event: usize, share: usize, chance: &mut Chance) {
    let about = &EVENTS[event];
    let mut pairs = Vec::new();
    for index in 0..share {
        let evening = index / about.an_evening;
        let place = index % about.an_evening;
        if place == 0 && about.series != Series::League {
            pairs = evening_pairs(about.an_evening, chance);
        }
        let (white, black) = if about.series == Series::League {
            league_pair(evening, place)
        } else {
            pairs[place]
        };
        let day = about.days.0 + about.days.1 * evening as u32;
        let (site, round) = if about.series == Series::League {
            let home = PLAYERS[home_player(evening, place)].club;
            let round = format!("{}.{}", evening + 1, place % 4 + 1);
            (CLUBS[home].venue.to_owned(), round)
        } else {
            let round = match about.series {
                Series::Friendly => "-".to_owned(),
                Series::Post => "?".to_owned(),
                _ => format!("{}.{}", evening + 1, place + 1),
            };
            (about.venue.to_owned(), round)
        };
        let kind = match about.series {
            Series::Shuffled => {
                let (number, rights) = shuffled::draw(chance);
                Kind::Shuffled(number, rights)
            }
            Series::Lessons => Kind::Lesson(index % LESSONS.len()),
            _ => Kind::Usual,
        };
        all.push(Fixture {
            event,
            date: Date::after(day),
            day,
            round,
            site,
            pairing: Pairing {
                white,
                black,
                control: control(about.series, index, evening),
                kind,
                fate: fate(about.series, index, share),
            },
        });
    }
}

/// League round `evening`, game `place` of twelve: each of the six clubs meets each other
/// twice (circle method), four boards a match, colours alternating by board.
fn league_pair(evening: usize, place: usize) -> (usize, usize) {
    let (home, away) = league_match(evening, place / 4);
    let board = place % 4;
    let (home, away) = (on_board(home, board), on_board(away, board));
    if board.is_multiple_of(2) {
        (away, home)
    } else {
        (home, away)
    }
}

fn home_player(evening: usize, place: usize) -> usize {
    on_board(league_match(evening, place / 4).0, 0)
}

fn league_match(evening: usize, meeting: usize) -> (usize, usize) {
    let round = evening % 5;
    let (a, b) = match meeting {
        0 => (5, round),
        _ => ((round + meeting) % 5, (round + 5 - meeting) % 5),
    };
    // Home and away change with the round and in the second half of the season.
    if (round + meeting + evening / 5).is_multiple_of(2) {
        (a, b)
    } else {
        (b, a)
    }
}

/// Pairs for an evening: players of like strength, roughly, meet.
fn evening_pairs(games: usize, chance: &mut Chance) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    while pairs.len() < games {
        let mut order: Vec<(i32, usize)> = PLAYERS
            .iter()
            .enumerate()
            .map(|(index, player)| (player.strength + chance.around(350), index))
            .collect();
        order.sort_unstable();
        let mut round: Vec<(usize, usize)> = order
            .chunks_exact(2)
            .map(|two| (two[0].1, two[1].1))
            .collect();
        for pair in &mut round {
            if chance.permille(500) {
                *pair = (pair.1, pair.0);
            }
        }
        chance.shuffle(&mut round);
        pairs.extend(round);
    }
    pairs.truncate(games);
    pairs
}

fn control(series: Series, index: usize, evening: usize) -> Control {
    match series {
        Series::League if evening % 5 == 4 => clock::STAGED,
        Series::League if index % 7 == 3 => clock::LONG_UNWRITTEN,
        Series::League => clock::LONG,
        Series::Rapid if evening.is_multiple_of(2) => clock::QUARTER_AND_TEN,
        Series::Rapid | Series::Shuffled => clock::TEN_AND_FIVE,
        Series::Blitz if evening % 3 == 2 => clock::FIVE_MINUTES,
        Series::Blitz => clock::THREE_AND_TWO,
        Series::Bullet if evening.is_multiple_of(2) => clock::ONE_MINUTE,
        Series::Bullet => clock::TWO_AND_ONE,
        Series::Post if evening.is_multiple_of(2) => clock::POST,
        Series::Post => clock::POST_FREE,
        Series::Lessons => clock::UNKNOWN,
        Series::Friendly => match index % 3 {
            0 => clock::UNTOLD,
            1 => clock::SAND,
            _ => clock::UNKNOWN,
        },
    }
}

fn fate(series: Series, index: usize, share: usize) -> Fate {
    match series {
        Series::League if share > 3 && index == share / 4 => Fate::Forfeit(Score::White),
        Series::League if share > 3 && index == share * 2 / 3 => Fate::Forfeit(Score::Black),
        Series::Post if index % 5 == 4 => Fate::BrokenOff(21 + index * 3),
        Series::Friendly if index % 6 == 5 => Fate::BrokenOff(30 + index),
        Series::Blitz if index % 60 == 37 => Fate::BrokenOff(43),
        _ => Fate::Played,
    }
}

/// Which games get notes, and which notes.
fn wanted(fixture: &Fixture, index: usize) -> Option<Wanted> {
    let (evals, words) = match EVENTS[fixture.event].series {
        Series::League => (index.is_multiple_of(4), index.is_multiple_of(5)),
        Series::Rapid | Series::Blitz => (index.is_multiple_of(6), index.is_multiple_of(18)),
        Series::Bullet => (false, false),
        Series::Post => (index.is_multiple_of(2), true),
        Series::Shuffled => (index.is_multiple_of(3), false),
        Series::Lessons => (false, true),
        Series::Friendly => (false, index.is_multiple_of(2)),
    };
    (evals || words).then_some(Wanted { evals, words })
}

fn tags(
    fixture: &Fixture,
    game: &Game,
    ratings: &mut Ratings,
    slips: &mut Chance,
) -> Vec<(&'static str, String)> {
    let event = &EVENTS[fixture.event];
    let pairing = &fixture.pairing;
    let month = fixture.date.month_number();
    let mut tags = vec![
        ("Event", event.name.to_owned()),
        ("Site", fixture.site.clone()),
        ("Date", fixture.date.tag()),
        ("Round", fixture.round.clone()),
        ("White", spelled(pairing.white, slips)),
        ("Black", spelled(pairing.black, slips)),
        ("Result", game.score.token().to_owned()),
    ];
    if event.series == Series::League {
        for (name, player) in [("WhiteTeam", pairing.white), ("BlackTeam", pairing.black)] {
            tags.push((name, CLUBS[PLAYERS[player].club].name.to_owned()));
        }
    } else if event.series != Series::Friendly {
        tags.push(("Organizer", LEAGUE.to_owned()));
    }
    for (name, player) in [("WhiteElo", pairing.white), ("BlackElo", pairing.black)] {
        // Some ratings are not looked up.
        let forgotten = slips.permille(25);
        let unsure = slips.permille(8);
        match ratings.as_written(player, month) {
            _ if forgotten => {}
            _ if unsure => tags.push((name, "?".to_owned())),
            Rating::Number(number) => tags.push((name, number.to_string())),
            Rating::Unrated => tags.push((name, "-".to_owned())),
            Rating::Untold => {}
        }
    }
    if let Some(control) = pairing.control.tag {
        tags.push(("TimeControl", control.to_owned()));
    }
    if let Some(fen) = &game.fen {
        if matches!(pairing.kind, Kind::Shuffled(..)) {
            tags.push(("Variant", "Chess960".to_owned()));
        }
        tags.push(("SetUp", "1".to_owned()));
        tags.push(("FEN", fen.clone()));
    } else if let Some(code) = openings::code(&game.moves) {
        tags.push(("ECO", code.to_owned()));
    }
    tags.push(("Termination", game.termination.tag().to_owned()));
    tags
}

fn spelled(player: usize, slips: &mut Chance) -> String {
    let player = &PLAYERS[player];
    let other = slips.permille(200);
    let which = slips.below(player.spellings.len() as u32) as usize;
    match player.spellings.get(which) {
        Some(spelling) if other => (*spelling).to_owned(),
        _ => player.name.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_add_up() {
        for count in [0, 1, 7, 24, 400, 1000] {
            assert_eq!(shares(count).iter().sum::<usize>(), count);
        }
        assert_eq!(shares(400)[0], 120);
    }

    #[test]
    fn in_the_league_every_club_meets_every_other_home_and_away() {
        let mut met = Vec::new();
        for evening in 0..10 {
            let mut today = Vec::new();
            for meeting in 0..3 {
                let (home, away) = league_match(evening, meeting);
                today.extend([home, away]);
                met.push((home, away));
            }
            today.sort_unstable();
            assert_eq!(today, [0, 1, 2, 3, 4, 5], "evening {evening}");
        }
        met.sort_unstable();
        met.dedup();
        assert_eq!(met.len(), 30);
    }

    #[test]
    fn players_do_not_meet_themselves() {
        for fixture in fixtures(3, 400) {
            assert_ne!(fixture.pairing.white, fixture.pairing.black);
        }
    }

    #[test]
    fn a_small_season_is_the_same_twice_and_changes_with_the_seed() {
        let season = |seed| -> Vec<String> { games(seed, 12).collect() };
        let first = season(11);
        assert_eq!(first.len(), 12);
        assert_eq!(first, season(11));
        assert_ne!(first, season(12));
    }

    #[test]
    fn the_committed_season_begins_as_the_generator_makes_it() {
        // The whole comparison is `sample-season --check`; this is its quick beginning.
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../season.pgn");
        let committed = std::fs::read_to_string(path).expect("the season is committed");
        let beginning: String = games(crate::SEED, crate::GAMES).take(20).collect();
        assert!(committed.starts_with(&beginning));
    }
}
