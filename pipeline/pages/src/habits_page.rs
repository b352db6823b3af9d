//! The page about one player's habits: what its template is given, and the template.

use anyhow::{Context as _, Result};
use hobble_questions::answer::Interval;
use hobble_questions::habits::HabitsAnswer;
use hobble_questions::habits::answer::{
    Bin, Board as Position, Figure as Counted, GameToSee, Measure, Unit,
};
use serde::Serialize;
use shakmaty::Color;

use crate::board::{self, Marks, Picture};
use crate::game_words::GameWords;
use crate::page::{
    BoardView, DatasetView, Figure, KeyEntry, MethodView, Term, all_squares, figure, file_name,
    long, paragraphs, position, square, style,
};
use crate::plot::dots::{Dot, Dots, Row, Scale};
use crate::templates::fill;
use crate::text::{
    capital, count, decimals, list, percent, percent_interval, plain, ratio, ratio_interval,
};

/// Figures drawn beside peers; the tables hold all.
const DRAWN: [&str; 12] = [
    "held",
    "held_knights",
    "held_bishops",
    "held_rooks",
    "held_queens",
    "by_own_moves",
    "taken",
    "long",
    "ended_freed",
    "lost_within",
    "opponent_held",
    "opponent_won",
];

/// A player's habits as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where a game to look at holds a position or square that cannot be read, naming it.
pub fn habits_page(answer: &HabitsAnswer) -> Result<String> {
    fill("habits.html", &Page::new(answer)?)
}

#[derive(Serialize)]
struct Page {
    style: String,
    title: String,
    player: String,
    lead: String,
    findings: Vec<String>,
    terms: Vec<Term>,
    plots: Vec<Figure>,
    sections: Vec<SectionView>,
    left: String,
    periods: Vec<Figure>,
    trend: String,
    bins: Vec<Vec<String>>,
    undated: String,
    groups: Vec<GroupView>,
    heads: Vec<String>,
    rule: String,
    key: Vec<KeyEntry>,
    games: Vec<GameView>,
    question: Vec<String>,
    who: Vec<Term>,
    methods: Vec<MethodView>,
    notes: Vec<String>,
    dataset: DatasetView,
    peers: Option<DatasetView>,
    hobble: String,
    definitions: u32,
}

#[derive(Serialize)]
struct SectionView {
    title: String,
    rows: Vec<RowView>,
}

#[derive(Serialize)]
struct RowView {
    label: String,
    counts: String,
    you: Cell,
    peers: Cell,
    ratio: Cell,
    few: bool,
}

/// A figure and its interval; empty where there is none.
#[derive(Serialize, Default)]
struct Cell {
    value: String,
    interval: String,
}

#[derive(Serialize)]
struct GroupView {
    label: String,
    games: String,
    cells: Vec<GroupCell>,
}

#[derive(Serialize)]
struct GroupCell {
    counts: String,
    you: Cell,
    ratio: String,
}

#[derive(Serialize)]
struct GameView {
    heading: String,
    board: Option<BoardView>,
    caption: String,
    white: String,
    black: String,
    game: String,
    result: String,
    file: String,
    place: String,
    game_id: String,
}

impl Page {
    fn new(answer: &HabitsAnswer) -> Result<Page> {
        let name = plain(&answer.player.name);
        let mut findings: Vec<String> = answer.verdicts.iter().map(|text| long(text)).collect();
        findings.push(long(&answer.replies.verdict));
        Ok(Page {
            style: style(),
            title: format!("Own habits: {name}"),
            lead: lead(answer, &name),
            player: name,
            findings,
            terms: terms(answer),
            plots: beside_peers(answer)?.into_iter().collect(),
            sections: answer
                .sections
                .iter()
                .map(|section| SectionView {
                    title: plain(&section.title),
                    rows: section.measures.iter().map(RowView::new).collect(),
                })
                .collect(),
            left: answer.left.you.map_or_else(String::new, |turns| {
                let peers = answer
                    .left
                    .peers
                    .map_or_else(String::new, |peers| format!(" The peers’ median is {peers}."));
                format!("Median number of turns a piece was left held: {turns}.{peers} No interval is given for medians.")
            }),
            periods: periods(answer)?,
            trend: long(&answer.trend.verdict),
            bins: answer
                .trend
                .bins
                .iter()
                .map(|bin| {
                    vec![
                        plain(&bin.label),
                        count(bin.games),
                        words(Unit::PerGame, &bin.held),
                        words(Unit::Share, &bin.lost),
                    ]
                })
                .collect(),
            undated: match answer.trend.undated {
                0 => String::new(),
                1 => "One game has no date that tells its period.".to_owned(),
                more => format!("{} games have no date that tells their period.", count(more)),
            },
            groups: answer
                .groups
                .iter()
                .map(|group| GroupView {
                    label: plain(&group.label),
                    games: count(group.games),
                    cells: group
                        .measures
                        .iter()
                        .map(|measure| {
                            let ratio = ratio_cell(measure);
                            GroupCell {
                                counts: format!(
                                    "{} of {}",
                                    count(measure.you.events),
                                    count(measure.you.base)
                                ),
                                you: cell(measure.unit, &measure.you),
                                ratio: if ratio.interval.is_empty() {
                                    String::new()
                                } else {
                                    format!("{} × peers ({})", ratio.value, ratio.interval)
                                },
                            }
                        })
                        .collect(),
                })
                .collect(),
            heads: answer
                .groups
                .first()
                .map(|group| group.measures.iter().map(|measure| plain(&measure.label)).collect())
                .unwrap_or_default(),
            rule: long(&answer.games_rule),
            key: key(),
            games: answer
                .games
                .iter()
                .enumerate()
                .map(|(i, game)| {
                    GameView::new(i + 1, game).with_context(|| format!("game {} cannot be shown", i + 1))
                })
                .collect::<Result<_>>()?,
            question: paragraphs(&answer.question.text),
            who: who(answer),
            methods: answer
                .methods
                .iter()
                .map(|method| MethodView {
                    name: capital(&plain(&method.name)),
                    text: long(&method.text),
                    source: long(&method.source),
                })
                .collect(),
            notes: answer.notes.iter().map(|note| long(note)).collect(),
            dataset: DatasetView::new(&answer.dataset),
            peers: answer.peers.dataset.as_ref().map(DatasetView::new),
            hobble: plain(&answer.hobble),
            definitions: answer.definitions,
        })
    }
}

fn lead(answer: &HabitsAnswer, name: &str) -> String {
    let player = &answer.player;
    let games = if player.games == 1 {
        "one game".to_owned()
    } else {
        format!("{} games", count(player.games))
    };
    format!(
        "{name} in {games}, {} with White and {} with Black, beside other players of the same rating band and time class.",
        count(player.white),
        count(player.games.saturating_sub(player.white))
    )
}

fn terms(answer: &HabitsAnswer) -> Vec<Term> {
    let p = &answer.parameters;
    let squares = match p.k {
        0 => "no safe square".to_owned(),
        1 => "one safe square at most".to_owned(),
        k => format!("{k} safe squares at most"),
    };
    vec![
        Term {
            name: "Held".to_owned(),
            text: format!("at its owner’s turn the piece has {squares}: squares it could go to without losing material at once. Only pieces that have moved count, unless it says otherwise."),
        },
        Term {
            name: "Lost".to_owned(),
            text: "captured at a loss of two pawns’ worth or more.".to_owned(),
        },
        Term {
            name: "Freeing reply".to_owned(),
            text: "a legal move after which the piece has more safe squares than that; it may be bad for other reasons.".to_owned(),
        },
    ]
}

/// Whose games these are and whom they are compared with.
fn who(answer: &HabitsAnswer) -> Vec<Term> {
    let player = &answer.player;
    let mut who = Vec::new();
    let mut say = |name: &str, text: String| {
        who.push(Term {
            name: name.to_owned(),
            text,
        });
    };
    let spellings: Vec<String> = player
        .spellings
        .counted
        .iter()
        .map(|one| {
            format!(
                "“{}” ({} White, {} Black)",
                plain(&one.spelling),
                count(one.white),
                count(one.black)
            )
        })
        .collect();
    say("Counted as", list(&spellings));
    let strata: Vec<String> = player
        .strata
        .iter()
        .map(|(band, class, games)| format!("{} {} ({})", plain(band), plain(class), count(*games)))
        .collect();
    say("Band, time class", strata.join("; "));
    say(
        "Peers",
        format!(
            "{} sides under {} names, from {}",
            count(answer.peers.sides),
            count(answer.peers.names),
            if answer.peers.own_tables {
                "tables of their own"
            } else {
                "the same tables"
            }
        ),
    );
    say(
        "Intervals",
        format!(
            "95%, from {} games on, and {} in which it happened",
            answer.parameters.minimum_games, answer.parameters.minimum_event_games
        ),
    );
    who
}

fn key() -> Vec<KeyEntry> {
    board::key()
        .into_iter()
        .filter_map(|(sign, text)| match text {
            "square taken from it" => None,
            "the move that took them" => Some(KeyEntry {
                sign,
                text: "a reply that would have freed it",
            }),
            text => Some(KeyEntry { sign, text }),
        })
        .collect()
}

fn value(unit: Unit, value: f64) -> String {
    match unit {
        Unit::PerGame => format!("{value:.2}"),
        Unit::Share => percent(value, decimals(value)),
    }
}

fn bounds(unit: Unit, value: f64, interval: &Interval) -> String {
    match unit {
        Unit::PerGame => format!("{:.2} to {:.2}", interval.low, interval.high),
        Unit::Share => percent_interval(interval, decimals(value)),
    }
}

fn cell(unit: Unit, figure: &Counted) -> Cell {
    figure.value.map_or_else(Cell::default, |one| Cell {
        value: value(unit, one),
        interval: figure
            .interval
            .as_ref()
            .map_or_else(String::new, |interval| bounds(unit, one, interval)),
    })
}

/// Digits as the interval asks for: three where it is narrow.
fn ratio_cell(measure: &Measure) -> Cell {
    measure.ratio.value.map_or_else(Cell::default, |one| {
        let Some(interval) = measure.ratio.jackknife else {
            return Cell {
                value: ratio(one),
                interval: String::new(),
            };
        };
        if interval.high - interval.low < 0.1 {
            Cell {
                value: format!("{one:.3}"),
                interval: format!("{:.3} to {:.3}", interval.low, interval.high),
            }
        } else {
            Cell {
                value: ratio(one),
                interval: ratio_interval(&interval),
            }
        }
    })
}

fn words(unit: Unit, figure: &Counted) -> String {
    let cell = cell(unit, figure);
    match (cell.value.is_empty(), cell.interval.is_empty()) {
        (true, _) => format!(
            "too few games to tell ({} of {})",
            count(figure.events),
            count(figure.base)
        ),
        (false, true) => cell.value,
        (false, false) => format!("{} ({})", cell.value, cell.interval),
    }
}

impl RowView {
    fn new(measure: &Measure) -> RowView {
        RowView {
            label: plain(&measure.label),
            counts: format!(
                "{} of {} {}",
                count(measure.you.events),
                count(measure.you.base),
                plain(&measure.of)
            ),
            you: cell(measure.unit, &measure.you),
            peers: cell(measure.unit, &measure.peers),
            ratio: ratio_cell(measure),
            few: measure.too_few.is_some(),
        }
    }
}

/// How many times the peers' figure each is.
fn beside_peers(answer: &HabitsAnswer) -> Result<Option<Figure>> {
    let chosen: Vec<&Measure> = answer
        .sections
        .iter()
        .flat_map(|section| &section.measures)
        .filter(|measure| DRAWN.contains(&measure.name.as_str()))
        .collect();
    let rows: Vec<Row> = chosen
        .iter()
        .map(|measure| Row {
            label: plain(&measure.label),
            all: false,
            dots: vec![
                measure
                    .ratio
                    .value
                    .filter(|value| *value > 0.0)
                    .and_then(|value| {
                        let interval = measure.ratio.jackknife?;
                        Some(Dot {
                            value,
                            interval: Some((interval.low, interval.high)),
                            text: ratio(value),
                        })
                    }),
            ],
            missing: match &measure.too_few {
                Some(few) if few.starts_with("no peers") => "no peers",
                Some(_) => "too few games to tell",
                None => "no interval",
            }
            .to_owned(),
        })
        .collect();
    if !rows.iter().any(|row| row.dots.iter().any(Option::is_some)) {
        return Ok(None);
    }
    let said: Vec<String> = chosen
        .iter()
        .map(|measure| long(&measure.verdict))
        .collect();
    let title = "How many times as much as peers";
    figure(
        "peers",
        title,
        &said.join(" "),
        format!("{title}. The line through each dot is its 95% interval. Where it crosses 1, these games do not tell the player from the peers."),
        &Dots {
            series: &["ratio".to_owned()],
            rows: &rows,
            scale: Scale::Ratio,
            axis: "times the peers’ figure, 95% interval",
        },
    )
    .map(Some)
}

/// The trend: held pieces a game, and the share of them lost, period by period.
fn periods(answer: &HabitsAnswer) -> Result<Vec<Figure>> {
    let trend = &answer.trend;
    if trend.bins.len() < 2 {
        return Ok(Vec::new());
    }
    let within = answer.parameters.within;
    let held = period(
        (
            "over-time",
            "Own pieces held, a game",
            "pieces held a game, 95% interval",
        ),
        &trend.bins,
        Unit::PerGame,
        |bin| &bin.held,
    )?;
    let lost = period(
        (
            "lost-over-time",
            &format!("Share of held pieces lost within {within} moves"),
            "share lost, 95% interval",
        ),
        &trend.bins,
        Unit::Share,
        |bin| &bin.lost,
    )?;
    Ok([held, lost].into_iter().flatten().collect())
}

fn period(
    (id, title, axis): (&str, &str, &str),
    bins: &[Bin],
    unit: Unit,
    of: impl Fn(&Bin) -> &Counted,
) -> Result<Option<Figure>> {
    let rows: Vec<Row> = bins
        .iter()
        .map(|bin| {
            let figure = of(bin);
            Row {
                label: plain(&bin.label),
                all: false,
                dots: vec![figure.value.and_then(|one| {
                    let interval = figure.interval?;
                    Some(Dot {
                        value: one,
                        interval: Some((interval.low, interval.high)),
                        text: value(unit, one),
                    })
                })],
                missing: "too few games to tell".to_owned(),
            }
        })
        .collect();
    if !rows.iter().any(|row| row.dots.iter().any(Option::is_some)) {
        return Ok(None);
    }
    let said: Vec<String> = bins
        .iter()
        .map(|bin| format!("{}: {}.", plain(&bin.label), words(unit, of(bin))))
        .collect();
    figure(
        id,
        title,
        &said.join(" "),
        format!(
            "{title}, oldest period first. Periods are run together until each holds enough games."
        ),
        &Dots {
            series: &["player".to_owned()],
            rows: &rows,
            scale: match unit {
                Unit::PerGame => Scale::Number,
                Unit::Share => Scale::Share,
            },
            axis,
        },
    )
    .map(Some)
}

impl GameView {
    fn new(number: usize, game: &GameToSee) -> Result<GameView> {
        let reference = &game.game;
        let words = GameWords::of(reference);
        let at = game
            .board
            .as_ref()
            .map_or_else(String::new, |board| format!(" on {}", plain(&board.square)));
        let before = game.board.as_ref().map_or_else(String::new, |board| {
            format!(", before {}", plain(&board.played))
        });
        Ok(GameView {
            heading: format!(
                "{number}. {} {}{at}{before}",
                capital(&plain(&game.color)),
                plain(&game.kind)
            ),
            board: game
                .board
                .as_ref()
                .map(|board| picture(number, game, board))
                .transpose()?,
            caption: long(&game.caption),
            white: words.white,
            black: words.black,
            game: words.played,
            result: words.result,
            file: plain(file_name(&reference.file)),
            place: format!(
                "game {}, line {}, byte {}",
                count(u64::from(reference.number)),
                count(reference.line),
                count(game.offset)
            ),
            game_id: plain(&reference.game_id),
        })
    }
}

fn picture(number: usize, game: &GameToSee, shown: &Position) -> Result<BoardView> {
    let owner = match game.color.as_str() {
        "white" => Color::White,
        "black" => Color::Black,
        other => anyhow::bail!("the owner is neither white nor black but {other:?}"),
    };
    let pieces = position(&shown.fen)?;
    let marks = Marks {
        held: Some(square(&shown.square)?),
        taken: Vec::new(),
        safe: all_squares(&shown.safe)?,
        arrow: shown
            .arrow
            .as_ref()
            .map(|(from, to)| anyhow::Ok((square(from)?, square(to)?)))
            .transpose()?,
    };
    let title = format!("Game {number}: position before {}", plain(&shown.played));
    let id = format!("game-{number}");
    let picture = Picture {
        board: &pieces,
        marks: &marks,
        bottom: owner,
        id: &id,
        title: &title,
    };
    Ok(BoardView {
        words: picture.words(),
        picture: picture.draw(),
        fen: plain(&shown.fen),
        bottom: board::side_name(owner),
    })
}
