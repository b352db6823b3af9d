//! The report on one player's habits.

use hobble_examples::GameReference;
use hobble_examples::facts::game_facts;
use hobble_report::Made;
use hobble_report::number::{at_most, capital};
use hobble_report::{
    Arrow, Block, Board, Cell, Fact, Game, Games, Report, Section, Side, Table, Tone,
    Unit as Written, plain_short,
};

use super::answer::{
    Figure, Finding, GameToSee, HabitsAnswer, Measure, MissedChance, PeersFrom, Unit,
};
use super::measures::CHANCES;
use super::plots;
use super::shown::{drawn, label, shown, why};
use super::tidy::tidy;
use hobble_conditions::terms::Key;
use hobble_conditions::words;
use hobble_report::sections;

/// The report on a player.
pub fn report(answer: &HabitsAnswer) -> Report<'_> {
    let mut data = sections::data(&answer.dataset);
    if let Some(peers) = &answer.peers.dataset {
        sections::files(&mut data, "The peers\u{2019} tables", &peers.sources);
    }
    Report {
        subject: "Restraint in played games",
        title: format!("Own habits: {}", plain_short(&answer.player.name)),
        sections: vec![
            found(answer),
            beside_peers(answer),
            figures(answer),
            over_time(answer),
            parts(answer),
            games(answer),
            missed_chances(answer),
            method(answer),
            sections::cautions(&answer.notes),
            data,
        ],
        made: Made::of(&answer.hobble, &answer.dataset.hobble, answer.definitions),
        tidy: tidy(answer),
        answer,
    }
}

fn found(answer: &HabitsAnswer) -> Section {
    let mut section = Section::new("found", "What was found");
    let player = &answer.player;
    section.paragraph(
        Tone::Lead,
        format!(
            "{} in {}, {} with White and {} with Black, beside {}.",
            plain_short(&player.name),
            words::counted(player.games, "game"),
            words::count(player.white),
            words::count(player.games.saturating_sub(player.white)),
            match answer.peers.from {
                PeersFrom::Opponents => "the opponents in the same games",
                _ => "other players of the same rating band and time class",
            }
        ),
    );
    if !answer.findings.is_empty() {
        section.block(Block::Games(Games {
            games: (1..)
                .zip(&answer.findings)
                .filter_map(|(number, one)| finding(number, one))
                .collect(),
            arrow: Arrow::Better,
            to_choose: false,
        }));
    }
    let mut others = others_found(answer);
    if !others.is_empty() && !answer.findings.is_empty() {
        section.block(Block::Heading("Found besides".to_owned()));
    }
    let more = others.len().saturating_sub(MOST_LISTED);
    if more > 0 {
        others.truncate(MOST_LISTED);
        others.push(format!(
            "{} more stand apart: see the figures.",
            words::counted(more as u64, "figure")
        ));
    }
    section.list(&others);
    section.paragraph(
        Tone::Caution,
        "These are associations in played games, not proof of cause: a piece may be held because its owner already stood worse.",
    );
    let squares = at_most(answer.parameters.k.into(), "safe square");
    let mut terms = vec![
        Fact::new(
            "Held",
            format!(
                "at its owner\u{2019}s turn the piece has {squares}: squares it could go to without losing material at once. Only pieces that have moved count, unless it says otherwise."
            ),
        ),
        Fact::new("Lost", format!("{}.", words::LOST)),
        Fact::new(
            "Freeing reply",
            "a legal move after which the piece has more safe squares than that; it may be bad for other reasons.",
        ),
    ];
    if answer.sections.iter().any(|part| part.title == CHANCES) {
        terms.push(Fact::new(
            "Chance to restrain",
            "a quiet move that gives nothing away would leave a piece of the opponent that has moved one safe square at most (knight, bishop) or two (rook, queen), without attacking it. Chances are counted in the sample of turns that the tables hold.",
        ));
    }
    section.block(Block::Terms(terms));
    section
}

/// Sentences listed behind the findings at most.
const MOST_LISTED: usize = 5;

/// What was found and is not among the findings.
fn others_found(answer: &HabitsAnswer) -> Vec<String> {
    let replies = answer.replies.shown();
    let prevention = answer.prevention.as_ref().map(|found| &found.verdict);
    let is_new = |text: &&String| !answer.findings.iter().any(|one| one.text == **text);
    let all = answer.verdicts.iter().chain([&replies]).chain(prevention);
    all.filter(is_new).cloned().collect()
}

/// A finding with the game that shows it.
fn finding(number: usize, one: &Finding) -> Option<Game> {
    let id = format!("finding-{number}");
    let chance = one.chance.as_ref().map(|it| missed_chance(&id, number, it));
    let shown = one
        .game
        .as_ref()
        .map(|it| game(&id, number, it))
        .or(chance)?;
    let board = one.game.as_ref().and_then(|game| game.board.as_ref());
    let position = board.map_or_else(
        || "In this game: ".to_owned(),
        |board| format!("The position before {}: ", plain_short(&board.played)),
    );
    Some(Game {
        heading: one.text.clone(),
        caption: format!("{} {position}{}", one.look_for, shown.caption),
        ..shown
    })
}

/// Only a figure with an interval is drawn: without one it would look certain.
fn beside_peers(answer: &HabitsAnswer) -> Section {
    let others = answer.peers.from.word();
    let mut section = Section::new("pictured", format!("Beside {others}"));
    let any = drawn(answer)
        .iter()
        .any(|measure| measure.ratio.value.is_some() && measure.ratio.jackknife.is_some());
    if any {
        section.block(Block::Plot(plots::beside_peers(answer)));
    } else {
        let none = format!("Nothing is drawn: too few games, or no {others}.");
        section.document(Block::Paragraph(Tone::Plain, none));
    }
    section
}

fn figures(answer: &HabitsAnswer) -> Section {
    let mut section = Section::new("figures", "The figures");
    for part in &answer.sections {
        section.block(Block::Table(
            measures(&part.measures, answer.peers.from).titled(part.title.clone()),
        ));
    }
    if let Some(turns) = answer.left.you {
        let peers = answer.left.peers.map_or_else(String::new, |peers| {
            format!(
                " The {}\u{2019} median is {peers}.",
                answer.peers.from.word()
            )
        });
        section.paragraph(
            Tone::Quiet,
            format!(
                "Median number of turns a piece was left held: {turns}.{peers} No interval is given for medians."
            ),
        );
    }
    section
}

fn measures(measures: &[Measure], from: PeersFrom) -> Table {
    let [others, times] = match from {
        PeersFrom::Opponents => ["Opponents", "Times opponents\u{2019}"],
        _ => ["Peers", "Times peers\u{2019}"],
    };
    let mut table = Table::new(["Figure", "Counted", "Player", others, times]);
    for one in measures {
        let why = why(one.too_few.as_ref());
        table.row(vec![
            Cell::text(label(one)),
            match one.unit {
                Unit::Seconds => Cell::text(words::counted(one.you.base, "turn")),
                _ => Cell::Part(one.you.events, one.you.base),
            },
            shown(one.unit, &one.you),
            match one.peers.value {
                Some(_) => shown(one.unit, &one.peers),
                None => Cell::None(why, None),
            },
            sections::cell_or(Written::Ratio, &one.ratio, why),
        ]);
    }
    table
}

fn over_time(answer: &HabitsAnswer) -> Section {
    let trend = &answer.trend;
    let mut section = Section::new("time", "Over time");
    let undated = match trend.undated {
        0 => String::new(),
        1 => " One game has no date that tells its period.".to_owned(),
        more => format!(
            " {} games have no date that tells their period.",
            words::count(more)
        ),
    };
    section.paragraph(Tone::Plain, format!("{}{undated}", trend.verdict));
    let drawn = |of: fn(&super::answer::Bin) -> &Figure| {
        trend.bins.len() > 1
            && trend
                .bins
                .iter()
                .any(|bin| of(bin).value.is_some() && of(bin).interval.is_some())
    };
    if drawn(|bin| &bin.held) {
        section.block(Block::Plot(plots::held(answer)));
    }
    if drawn(|bin| &bin.lost) {
        section.block(Block::Plot(plots::lost(answer)));
    }
    if !trend.bins.is_empty() {
        let mut table = Table::new(["Period", "Games", "Held a game", "Lost of those"])
            .captioned("Period by period");
        for bin in &trend.bins {
            table.row(vec![
                Cell::text(bin.label.clone()),
                Cell::Count(bin.games),
                shown(Unit::PerGame, &bin.held),
                shown(Unit::Share, &bin.lost),
            ]);
        }
        section.block(Block::Table(table));
    }
    section
}

fn parts(answer: &HabitsAnswer) -> Section {
    let mut section = Section::new("parts", "By colour and opening");
    section.paragraph(
        Tone::Quiet,
        "Openings by ECO code, or by first moves where a game has no code, each as deep as there are enough games; beside others with the same colour, or in the same openings.",
    );
    for group in &answer.groups {
        let title = format!(
            "{} ({})",
            plain_short(&group.label),
            words::counted(group.games, "game")
        );
        let table = measures(&group.measures, answer.peers.from);
        section.block(Block::Table(table.titled(title)));
    }
    section
}

fn games(answer: &HabitsAnswer) -> Section {
    let games = (1..).zip(&answer.games);
    let games = Games {
        games: games
            .map(|(number, one)| game(&format!("game-{number}"), number, one))
            .collect(),
        arrow: Arrow::Reply,
        to_choose: false,
    };
    let none =
        "No developed piece of the player was held in these games, or no game was asked for.";
    with_boards(
        Section::new("look", "Games to look at"),
        &answer.games_rule,
        games,
        none,
    )
}

fn missed_chances(answer: &HabitsAnswer) -> Section {
    let chances = (1..).zip(&answer.missed_chances);
    let chances = Games {
        games: chances
            .map(|(number, one)| missed_chance(&format!("missed-{number}"), number, one))
            .collect(),
        arrow: Arrow::Chance,
        to_choose: false,
    };
    let none =
        "The tables hold no chance to restrain that the player let pass and that could be shown.";
    with_boards(
        Section::new("missed", "Chances that were missed"),
        &answer.missed_chances_rule,
        chances,
        none,
    )
}

/// A section of games chosen by a rule, or `none` in words.
fn with_boards(mut section: Section, rule: &str, games: Games, none: &str) -> Section {
    if games.games.is_empty() {
        section.paragraph(Tone::Plain, none);
    } else {
        section.document(Block::Paragraph(Tone::Plain, rule.to_owned()));
        section.block(Block::Games(games));
    }
    section
}

/// Players, result, event, date and place in one line under a board.
fn in_one_line(game: &GameReference, offset: u64) -> Fact {
    let mut facts = game_facts(game).into_iter().map(|fact| fact.text);
    let [white, black, played, result, place] =
        std::array::from_fn(|_| facts.next().unwrap_or_default());
    Fact::new(
        "Game",
        format!(
            "{white} \u{2013} {black}, {result}; {played}; {place}, byte {}",
            words::count(offset)
        ),
    )
}

fn missed_chance(id: &str, number: usize, one: &MissedChance) -> Game {
    let facts = vec![in_one_line(&one.game, one.offset)];
    Game {
        heading: format!(
            "{} to restrain the {} on {}",
            plain_short(&one.answer),
            plain_short(&one.kind),
            plain_short(&one.square)
        ),
        label: format!("{}; byte {}", one.game.label, one.offset),
        caption: one.caption.clone(),
        facts,
        boards: vec![Board {
            id: id.to_owned(),
            label: "",
            title: format!(
                "Missed chance {number}: position before {}",
                plain_short(&one.played)
            ),
            fen: one.fen.clone(),
            fen_before: None,
            bottom: Side::named(&one.color).unwrap_or(Side::White),
            held: one.square.clone(),
            safe: Some(one.left.clone()),
            taken: one.taken.clone(),
            arrow: Some(one.arrow.clone()),
        }],
        stretch: None,
        traits: Vec::new(),
    }
}

fn game(id: &str, number: usize, one: &GameToSee) -> Game {
    let board = one.board.as_ref();
    let at = board.map_or_else(String::new, |board| {
        format!(
            " on {}, before {}",
            plain_short(&board.square),
            plain_short(&board.played)
        )
    });
    let facts = vec![in_one_line(&one.game, one.offset)];
    Game {
        heading: format!(
            "{} {}{at}",
            capital(&plain_short(&one.color)),
            plain_short(&one.kind)
        ),
        label: format!(
            "{}; byte {}; game id {}",
            one.game.label, one.offset, one.game.game_id
        ),
        caption: one.shown.clone(),
        facts,
        boards: board
            .map(|board| Board {
                id: id.to_owned(),
                label: "",
                title: format!(
                    "Game {number}: position before {}",
                    plain_short(&board.played)
                ),
                fen: board.fen.clone(),
                fen_before: None,
                bottom: Side::named(&one.color).unwrap_or(Side::White),
                held: board.square.clone(),
                safe: Some(board.safe.clone()),
                taken: Vec::new(),
                arrow: board.arrow.clone(),
            })
            .into_iter()
            .collect(),
        stretch: one.stretch.clone(),
        traits: Vec::new(),
    }
}

fn method(answer: &HabitsAnswer) -> Section {
    let mut section = Section::new("method", "How this was worked out");
    sections::own_words(&mut section, &answer.question.text);
    section
        .block(Block::Heading("Whose games".to_owned()))
        .block(Block::Facts(who(answer)));
    sections::methods(&mut section, &answer.methods);
    section
}

/// Whose games these are and whom they are compared with.
fn who(answer: &HabitsAnswer) -> Vec<Fact> {
    let player = &answer.player;
    let spellings: Vec<String> = player
        .spellings
        .counted
        .iter()
        .map(|one| {
            format!(
                "\u{201c}{}\u{201d} ({} White, {} Black)",
                plain_short(&one.spelling),
                words::count(one.white),
                words::count(one.black)
            )
        })
        .collect();
    let strata: Vec<String> = player
        .strata
        .iter()
        .map(|(band, class, games)| {
            format!(
                "{}, {} ({})",
                words::value_in_words(Key::Band, band),
                words::value_in_words(Key::TimeClass, class),
                words::count(*games)
            )
        })
        .collect();
    let parameters = &answer.parameters;
    vec![
        Fact::new("Counted as", words::list(&spellings)),
        Fact::new("Band, time class", strata.join("; ")),
        Fact::new(
            "Peers",
            format!(
                "{} under {}{}, from {}",
                words::counted(answer.peers.sides, "side"),
                words::counted(answer.peers.names, "name"),
                match answer.peers.from {
                    PeersFrom::Norms => " in the whole archive",
                    _ => "",
                },
                match answer.peers.from {
                    PeersFrom::OwnTables => "tables of their own",
                    PeersFrom::Norms => "a file of norms",
                    PeersFrom::SameTables => "the same tables",
                    PeersFrom::Opponents => "the same games: the opponents",
                }
            ),
        ),
        Fact::new(
            "Intervals",
            format!(
                "95%, from {} games on, and {} in which it happened",
                parameters.minimum_games, parameters.minimum_event_games
            ),
        ),
    ]
}
