//! The page: what the templates are given, and the templates.
//!
//! All text of an answer is made harmless here (`text::plain`) before it goes anywhere, and
//! the templates escape it; pictures are the one thing they take as it is, and those escape
//! their own words.

use anyhow::{Context as _, Result};
use hobble_dataset::DatasetSummary;
use hobble_questions::answer::{
    Answer, Estimate, Example, ExampleBoard, Interval, Parameters, Row as AnswerRow, Side,
};
use hobble_questions::terms::{Key, Outcome};
use serde::Serialize;
use shakmaty::fen::Fen;
use shakmaty::{Board, Color, Square};

use crate::board::{self, Marks, Picture};
use crate::game_words::GameWords;
use crate::plot::Width;
use crate::plot::dots::{Dot, Dots, Row as PlotRow, Scale};
use crate::svg::Words;
use crate::templates::fill;
use crate::text::{
    capital, count, decimals, list, moves, percent, percent_interval, plain, points,
    points_interval, ratio, ratio_interval, small,
};
use crate::{palette, text};

/// Most groups that get a sentence of their own at the top; with more, the table says it.
const MOST_SENTENCES: usize = 8;

/// The answer as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where an example holds a position or square that cannot be read, naming it.
pub fn render(answer: &Answer) -> Result<String> {
    fill("page.html", &Page::new(answer)?)
}

/// The style sheet of every page: the house colours and the house style.
pub fn style() -> String {
    format!("{}{}", palette::css(), include_str!("templates/house.css"))
}

/// What the template is given.
#[derive(Serialize)]
struct Page {
    style: String,
    title: String,
    question: Vec<String>,
    lead: String,
    findings: Vec<Finding>,
    terms: Vec<Term>,
    plots: Vec<Figure>,
    /// Head of the column of the counted outcome: `lost within 10 moves`.
    outcome: String,
    level: String,
    rows: Vec<TableRow>,
    counts: Vec<CountRow>,
    remarks: Vec<Term>,
    unmatched: Vec<UnmatchedRow>,
    examples: Vec<ExampleView>,
    key: Vec<KeyEntry>,
    methods: Vec<MethodView>,
    notes: Vec<String>,
    asked: Vec<Term>,
    dataset: DatasetView,
    hobble: String,
    definitions: u32,
}

#[derive(Serialize)]
struct Finding {
    label: String,
    /// Whether the verdict does not name the group itself.
    named: bool,
    verdict: String,
    remarks: Vec<String>,
}

#[derive(Serialize)]
pub(crate) struct Term {
    pub(crate) name: String,
    pub(crate) text: String,
}

#[derive(Serialize)]
pub(crate) struct Figure {
    title: String,
    narrow: String,
    wide: String,
    caption: String,
}

/// A figure and its interval; empty where there is none.
#[derive(Serialize, Default)]
struct Cell {
    value: String,
    interval: String,
}

#[derive(Serialize)]
struct TableRow {
    label: String,
    all: bool,
    held: Cell,
    free: Cell,
    ratio: Cell,
    difference: Cell,
    too_few: bool,
}

#[derive(Serialize)]
struct CountRow {
    label: String,
    all: bool,
    cells: Vec<String>,
}

/// A figure as it stands, with both its intervals.
#[derive(Serialize)]
struct TwoIntervals {
    value: String,
    jackknife: String,
    other: String,
}

#[derive(Serialize)]
struct UnmatchedRow {
    label: String,
    all: bool,
    cells: Vec<TwoIntervals>,
}

#[derive(Serialize)]
pub(crate) struct KeyEntry {
    pub(crate) sign: String,
    pub(crate) text: &'static str,
}

#[derive(Serialize)]
struct ExampleView {
    heading: String,
    board: Option<BoardView>,
    caption: String,
    then: String,
    result: String,
    white: String,
    black: String,
    game: String,
    place: String,
    game_id: String,
}

#[derive(Serialize)]
pub(crate) struct BoardView {
    pub(crate) picture: String,
    pub(crate) words: String,
    pub(crate) fen: String,
    pub(crate) bottom: &'static str,
}

#[derive(Serialize)]
pub(crate) struct MethodView {
    pub(crate) name: String,
    pub(crate) text: String,
    pub(crate) source: String,
}

#[derive(Serialize)]
pub(crate) struct DatasetView {
    hobble: String,
    read: String,
    kept: String,
    skipped: String,
    reasons: Vec<Term>,
    sources: Vec<SourceView>,
}

#[derive(Serialize)]
pub(crate) struct SourceView {
    file: String,
    source: String,
    sha256: String,
    read: String,
    kept: String,
    skipped: String,
}

impl Page {
    fn new(answer: &Answer) -> Result<Page> {
        let parameters = &answer.parameters;
        let outcome = format!("{} within {} moves", parameters.outcome, parameters.within);
        let examples = answer
            .examples
            .iter()
            .enumerate()
            .map(|(i, example)| {
                ExampleView::new(i + 1, example)
                    .with_context(|| format!("example {} cannot be shown", i + 1))
            })
            .collect::<Result<Vec<_>>>()?;
        Ok(Page {
            style: style(),
            title: plain(&answer.question.title),
            question: paragraphs(&answer.question.text),
            lead: lead(answer),
            findings: findings(answer),
            terms: terms(parameters),
            plots: plots(answer, &outcome)?,
            level: level(parameters),
            rows: answer.rows.iter().map(TableRow::new).collect(),
            counts: answer.rows.iter().map(CountRow::new).collect(),
            remarks: answer
                .rows
                .iter()
                .flat_map(|row| {
                    remarks(row).into_iter().map(|text| Term {
                        name: label(row),
                        text,
                    })
                })
                .collect(),
            unmatched: answer.rows.iter().map(UnmatchedRow::new).collect(),
            examples,
            key: board::key()
                .into_iter()
                .map(|(sign, text)| KeyEntry { sign, text })
                .collect(),
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
            asked: asked(parameters),
            dataset: DatasetView::new(&answer.dataset),
            hobble: plain(&answer.hobble),
            definitions: answer.definitions,
            outcome,
        })
    }
}

/// Text of ours that may be longer than what comes from an archive: each stretch between
/// line breaks is made harmless by itself, and joined by spaces.
pub(crate) fn long(text: &str) -> String {
    let lines: Vec<String> = text
        .split('\n')
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .map(text::plain_long)
        .collect();
    lines.join(" ")
}

/// Paragraphs, parted by empty lines.
pub(crate) fn paragraphs(text: &str) -> Vec<String> {
    text.replace("\r\n", "\n")
        .split("\n\n")
        .map(long)
        .filter(|paragraph| !paragraph.is_empty())
        .collect()
}

fn label(row: &AnswerRow) -> String {
    if row.all && row.label == "all" {
        "All".to_owned()
    } else {
        capital(&plain(&row.label))
    }
}

/// What was found in one sentence: the row of all, else the only row.
fn lead(answer: &Answer) -> String {
    answer
        .rows
        .iter()
        .find(|row| row.all)
        .or_else(|| answer.rows.first())
        .map_or_else(
            || "Nothing was found that answers the question.".to_owned(),
            |row| long(&row.verdict),
        )
}

/// A sentence a group, where the groups are few; with it the remarks, where so many turns
/// are left out that they weigh on what is said. All remarks stand with the counts.
fn findings(answer: &Answer) -> Vec<Finding> {
    let groups = answer.rows.iter().filter(|row| !row.all).count();
    answer
        .rows
        .iter()
        .filter(|row| row.all || groups <= MOST_SENTENCES)
        .map(|row| Finding {
            label: label(row),
            named: row.too_few.is_some(),
            // The row of all has said its sentence above.
            verdict: if row.all || answer.rows.len() == 1 {
                String::new()
            } else {
                long(&row.verdict)
            },
            remarks: if much_left_out(row) {
                remarks(row)
            } else {
                Vec::new()
            },
        })
        .filter(|finding| !finding.verdict.is_empty() || !finding.remarks.is_empty())
        .collect()
}

fn remarks(row: &AnswerRow) -> Vec<String> {
    row.remarks.iter().map(|remark| long(remark)).collect()
}

/// Whether more than one held turn in a hundred found nothing to be compared with.
fn much_left_out(row: &AnswerRow) -> bool {
    let compared = &row.standardised;
    let left_out = compared.held_turns_left_out;
    left_out.saturating_mul(100) > left_out.saturating_add(compared.held_turns)
}

fn squares(k: u8) -> String {
    match k {
        0 => "no safe square".to_owned(),
        1 => "one safe square at most".to_owned(),
        k => format!("{} safe squares at most", small(u64::from(k))),
    }
}

fn held(parameters: &Parameters) -> String {
    format!("held: {}", squares(parameters.k))
}

fn level(parameters: &Parameters) -> String {
    // 0.95 gives 95, 0.995 gives 99.5.
    let percent = parameters.level * 100.0;
    if (percent - percent.round()).abs() < 1e-9 {
        format!("{percent:.0}%")
    } else {
        format!("{percent:.1}%")
    }
}

/// The words a reader needs for the first figure.
fn terms(parameters: &Parameters) -> Vec<Term> {
    let what = match parameters.outcome {
        Outcome::Lost => "captured at a loss of two pawns’ worth or more",
        Outcome::Captured => "captured, at whatever price",
        Outcome::Traded => "captured in an even exchange",
        Outcome::Sold => "captured for at least two pawns’ worth more than was given up",
    };
    let like = strata(&parameters.strata);
    vec![
        Term {
            name: "Held".to_owned(),
            text: format!(
                "at its owner’s turn the piece has {}: squares it could go to without losing material at once.",
                squares(parameters.k)
            ),
        },
        Term {
            name: capital(parameters.outcome.name()),
            text: format!("{what}, within {} moves of that turn.", parameters.within),
        },
        Term {
            name: "Comparable free".to_owned(),
            text: if like.is_empty() {
                "a piece with more safe squares than that; nothing else need be equal.".to_owned()
            } else {
                format!(
                    "a piece with more safe squares than that, alike in {like}, in the same mix as the held ones."
                )
            },
        },
    ]
}

fn strata(keys: &[Key]) -> String {
    let words: Vec<String> = keys
        .iter()
        .map(|key| {
            match key {
                Key::Kind => "kind",
                Key::Phase => "phase of the game",
                Key::Band => "rating band",
                Key::TimeClass => "time class",
                Key::RatingDiff => "rating difference",
                Key::Attacked => "being attacked or not",
                Key::Defended => "being defended or not",
                Key::Developed => "having moved or not",
            }
            .to_owned()
        })
        .collect();
    list(&words)
}

/// What was asked, filter by filter, for whoever wants to ask it again.
fn asked(parameters: &Parameters) -> Vec<Term> {
    let mut asked = Vec::new();
    let mut say = |name: &str, text: String| {
        asked.push(Term {
            name: name.to_owned(),
            text,
        });
    };
    let kinds: Vec<String> = parameters
        .kinds
        .iter()
        .map(|kind| format!("{kind}s"))
        .collect();
    say("Pieces", list(&kinds));
    say("Held", squares(parameters.k));
    say(
        "Counted",
        format!("{} within {} moves", parameters.outcome, parameters.within),
    );
    for said in parameters.said() {
        say(said.name, plain(&said.words));
    }
    let like = strata(&parameters.strata);
    say(
        "Compared with",
        if like.is_empty() {
            "every free piece".to_owned()
        } else {
            format!("free pieces alike in {like}")
        },
    );
    say(
        "Intervals",
        format!(
            "{}, given from {} turns in {} folds on each side, {} of them with the outcome",
            level(parameters),
            count(parameters.minimum_turns),
            parameters.minimum_folds,
            parameters.minimum_outcome_folds
        ),
    );
    asked
}

fn bounds(interval: Option<&Interval>) -> Option<(f64, f64)> {
    interval
        .map(|interval| (interval.low, interval.high))
        .filter(|(low, high)| low.is_finite() && high.is_finite())
}

/// A figure without an interval gets no dot: it would say more than the games do.
fn share_dot(estimate: &Estimate) -> Option<Dot> {
    let value = estimate.value?;
    Some(Dot {
        value,
        interval: Some(bounds(estimate.jackknife.as_ref())?),
        text: percent(value, decimals(value)),
    })
}

fn ratio_dot(estimate: &Estimate) -> Option<Dot> {
    let value = estimate.value.filter(|value| *value > 0.0)?;
    Some(Dot {
        value,
        interval: Some(bounds(estimate.jackknife.as_ref())?),
        text: ratio(value),
    })
}

/// What stands in a plot where there is no dot.
fn missing(row: &AnswerRow) -> String {
    match row.too_few {
        Some(_) => "too few games to tell",
        None => "no interval",
    }
    .to_owned()
}

fn share_words(estimate: &Estimate) -> String {
    let cell = share_cell(estimate);
    match (cell.value.is_empty(), cell.interval.is_empty()) {
        (true, _) => "no figure".to_owned(),
        (false, true) => format!("{}, no interval", cell.value),
        (false, false) => format!("{} ({})", cell.value, cell.interval),
    }
}

/// Both plots: the shares side by side, and how many times as often.
fn plots(answer: &Answer, outcome: &str) -> Result<Vec<Figure>> {
    let parameters = &answer.parameters;
    let level = level(parameters);
    let series = [
        capital(&held(parameters)),
        "Comparable free pieces".to_owned(),
    ];
    let shares: Vec<PlotRow> = answer
        .rows
        .iter()
        .map(|row| PlotRow {
            label: label(row),
            all: row.all && answer.rows.len() > 1,
            dots: vec![
                share_dot(&row.standardised.held_rate),
                share_dot(&row.standardised.free_rate),
            ],
            missing: missing(row),
        })
        .collect();
    let share_title = format!("Share {outcome}, held and comparable free pieces");
    let words: Vec<String> = answer
        .rows
        .iter()
        .map(|row| {
            format!(
                "{}: held {}, comparable free {}.",
                label(row),
                share_words(&row.standardised.held_rate),
                share_words(&row.standardised.free_rate)
            )
        })
        .collect();
    let share = Dots {
        series: &series,
        rows: &shares,
        scale: Scale::Share,
        axis: &format!("share {outcome}, with {level} interval"),
    };
    let share = figure(
        "share",
        &share_title,
        &words.join(" "),
        format!(
            "{share_title}. Disc: held. Diamond: comparable free. The line through each is its {level} interval: the figures the games leave open. The table below holds the same figures."
        ),
        &share,
    )?;

    let ratios: Vec<PlotRow> = answer
        .rows
        .iter()
        .map(|row| PlotRow {
            label: label(row),
            all: row.all && answer.rows.len() > 1,
            dots: vec![ratio_dot(&row.standardised.ratio)],
            missing: missing(row),
        })
        .collect();
    let ratio_title = format!(
        "How many times as often held pieces are {}",
        parameters.outcome
    );
    let words: Vec<String> = answer
        .rows
        .iter()
        .map(|row| {
            let cell = ratio_cell(&row.standardised.ratio);
            let text = match (cell.value.is_empty(), cell.interval.is_empty()) {
                (true, _) => "no figure".to_owned(),
                (false, true) => format!("{} times, no interval", cell.value),
                (false, false) => format!("{} times ({})", cell.value, cell.interval),
            };
            format!("{}: {text}.", label(row))
        })
        .collect();
    let ratio = Dots {
        series: &["ratio".to_owned()],
        rows: &ratios,
        scale: Scale::Ratio,
        axis: &format!("times as often as free ones, {level} interval"),
    };
    let ratio = figure(
        "ratio",
        &ratio_title,
        &words.join(" "),
        format!(
            "{ratio_title}, within {} moves, as comparable free pieces. Where the line crosses 1, these games do not tell which of the two is {} more often.",
            parameters.within, parameters.outcome
        ),
        &ratio,
    )?;
    // A plot without a single dot would say nothing.
    let any = |rows: &[PlotRow]| rows.iter().any(|row| row.dots.iter().any(Option::is_some));
    Ok([(any(&shares), share), (any(&ratios), ratio)]
        .into_iter()
        .filter_map(|(drawn, figure)| drawn.then_some(figure))
        .collect())
}

pub(crate) fn figure(
    id: &str,
    title: &str,
    words: &str,
    caption: String,
    plot: &Dots<'_>,
) -> Result<Figure> {
    let draw = |width: Width, id: String| {
        plot.draw(
            Words {
                id: &id,
                title,
                description: words,
            },
            width,
        )
    };
    Ok(Figure {
        title: title.to_owned(),
        narrow: draw(Width::Narrow, format!("{id}-narrow"))?,
        wide: draw(Width::Wide, format!("{id}-wide"))?,
        caption,
    })
}

fn share_cell(estimate: &Estimate) -> Cell {
    estimate.value.map_or_else(Cell::default, |value| {
        let decimals = decimals(value);
        Cell {
            value: percent(value, decimals),
            interval: estimate
                .jackknife
                .as_ref()
                .map_or_else(String::new, |interval| percent_interval(interval, decimals)),
        }
    })
}

fn ratio_cell(estimate: &Estimate) -> Cell {
    estimate.value.map_or_else(Cell::default, |value| Cell {
        value: ratio(value),
        interval: estimate
            .jackknife
            .as_ref()
            .map_or_else(String::new, ratio_interval),
    })
}

fn difference_cell(estimate: &Estimate, decimals: usize) -> Cell {
    estimate.value.map_or_else(Cell::default, |value| Cell {
        value: points(value, decimals),
        interval: estimate
            .jackknife
            .as_ref()
            .map_or_else(String::new, |interval| points_interval(interval, decimals)),
    })
}

/// Decimals for a difference of these rates: those of the smaller rate that is not zero.
fn difference_decimals(rates: [Option<f64>; 2]) -> usize {
    rates
        .into_iter()
        .flatten()
        .filter(|rate| *rate != 0.0)
        .map(decimals)
        .max()
        .unwrap_or(1)
}

impl TableRow {
    fn new(row: &AnswerRow) -> TableRow {
        let compared = &row.standardised;
        let decimals = difference_decimals([compared.held_rate.value, compared.free_rate.value]);
        TableRow {
            label: label(row),
            all: row.all,
            held: share_cell(&compared.held_rate),
            free: share_cell(&compared.free_rate),
            ratio: ratio_cell(&compared.ratio),
            difference: difference_cell(&compared.difference, decimals),
            too_few: row.too_few.is_some(),
        }
    }
}

impl CountRow {
    fn new(row: &AnswerRow) -> CountRow {
        let side = |side: &Side| {
            [
                count(side.turns),
                count(side.outcomes),
                count(side.over),
                format!("{} / {}", side.folds, side.outcome_folds),
            ]
        };
        let compared = &row.standardised;
        let mut cells = Vec::from(side(&row.held));
        cells.extend(side(&row.free));
        cells.extend([
            format!(
                "{} / {}",
                count(compared.strata),
                count(compared.strata_left_out)
            ),
            format!(
                "{} / {}",
                count(compared.held_turns_left_out),
                count(compared.held_outcomes_left_out)
            ),
        ]);
        CountRow {
            label: label(row),
            all: row.all,
            cells,
        }
    }
}

impl UnmatchedRow {
    fn new(row: &AnswerRow) -> UnmatchedRow {
        let rate = |side: &Side| {
            let decimals = side.rate.map_or(1, decimals);
            let interval = |interval: &Option<Interval>| {
                interval
                    .as_ref()
                    .map_or_else(String::new, |interval| percent_interval(interval, decimals))
            };
            TwoIntervals {
                value: side
                    .rate
                    .map_or_else(String::new, |rate| percent(rate, decimals)),
                jackknife: interval(&side.jackknife),
                other: interval(&side.wilson),
            }
        };
        let decimals = difference_decimals([row.held.rate, row.free.rate]);
        let ratio = ratio_cell(&row.raw.ratio);
        let difference = difference_cell(&row.raw.difference, decimals);
        UnmatchedRow {
            label: label(row),
            all: row.all,
            cells: vec![
                rate(&row.held),
                rate(&row.free),
                TwoIntervals {
                    value: ratio.value,
                    jackknife: ratio.interval,
                    other: row
                        .raw
                        .ratio_katz
                        .as_ref()
                        .map_or_else(String::new, ratio_interval),
                },
                TwoIntervals {
                    value: difference.value,
                    jackknife: difference.interval,
                    other: row
                        .raw
                        .difference_newcombe
                        .as_ref()
                        .map_or_else(String::new, |interval| points_interval(interval, decimals)),
                },
            ],
        }
    }
}

impl ExampleView {
    fn new(number: usize, example: &Example) -> Result<ExampleView> {
        let game = &example.game;
        let words = GameWords::of(game);
        let color = plain(&example.color);
        let later = moves(example.end_ply.saturating_sub(example.start_ply));
        let unit = if matches!(later.as_str(), "1" | "½") {
            "move"
        } else {
            "moves"
        };
        let move_label = example.board.as_ref().map_or_else(String::new, |board| {
            format!(" after {}", plain(&board.cause.label))
        });
        Ok(ExampleView {
            heading: format!(
                "{number}. {} {} on {}{move_label}",
                capital(&color),
                example.kind,
                plain(&example.square)
            ),
            board: example
                .board
                .as_ref()
                .map(|board| BoardView::new(number, example, board))
                .transpose()?,
            caption: long(&example.caption),
            then: format!("{} {later} {unit} later", plain(&example.end)),
            result: words.result,
            white: words.white,
            black: words.black,
            game: words.played,
            place: format!(
                "{}, game {}, line {}",
                plain(file_name(&game.file)),
                count(u64::from(game.number)),
                count(game.line)
            ),
            game_id: plain(&game.game_id),
        })
    }
}

impl BoardView {
    fn new(number: usize, example: &Example, board: &ExampleBoard) -> Result<BoardView> {
        let owner = match example.color.as_str() {
            "white" => Color::White,
            "black" => Color::Black,
            other => anyhow::bail!("the owner is neither white nor black but {other:?}"),
        };
        let position = position(&board.fen_after)?;
        let marks = Marks {
            held: Some(square(&example.square)?),
            taken: all_squares(&board.taken)?,
            safe: all_squares(&board.safe_after)?,
            arrow: Some((square(&board.cause.from)?, square(&board.cause.to)?)),
        };
        // Seen from the side that restrains: it is the one whose play is shown.
        let bottom = owner.other();
        let title = format!(
            "Board after {}: {} {} on {} held",
            plain(&board.cause.label),
            example.color,
            example.kind,
            example.square
        );
        let id = format!("board-{number}");
        let picture = Picture {
            board: &position,
            marks: &marks,
            bottom,
            id: &id,
            title: &title,
        };
        Ok(BoardView {
            picture: picture.draw(),
            words: picture.words(),
            fen: plain(&board.fen_after),
            bottom: board::side_name(bottom),
        })
    }
}

/// The last part of a path, whichever system wrote it.
pub(crate) fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

pub(crate) fn position(fen: &str) -> Result<Board> {
    let read = Fen::from_ascii(fen.as_bytes())
        .with_context(|| format!("its position {fen:?} is no FEN"))?;
    Ok(read.as_setup().board.clone())
}

pub(crate) fn square(name: &str) -> Result<Square> {
    Square::from_ascii(name.as_bytes()).with_context(|| format!("{name:?} is no square"))
}

pub(crate) fn all_squares(names: &[String]) -> Result<Vec<Square>> {
    names.iter().map(|name| square(name)).collect()
}

impl DatasetView {
    pub(crate) fn new(dataset: &DatasetSummary) -> DatasetView {
        let reasons = dataset
            .skipped_by_reason
            .iter()
            .map(|(reason, games)| Term {
                name: plain(reason),
                text: count(*games),
            })
            .collect();
        DatasetView {
            hobble: plain(&dataset.hobble),
            read: count(dataset.read),
            kept: count(dataset.kept),
            skipped: count(dataset.skipped),
            reasons,
            sources: dataset
                .sources
                .iter()
                .map(|source| SourceView {
                    file: plain(&source.file),
                    source: plain(&source.source),
                    sha256: plain(&source.sha256),
                    read: count(source.read),
                    kept: count(source.kept),
                    skipped: count(source.skipped.values().sum()),
                })
                .collect(),
        }
    }
}
