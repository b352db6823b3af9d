//! The page of a training claim: verdict, curve, comparison, ends, scores, sensitivity and
//! the games.

use anyhow::{Context as _, Result};
use hobble_questions::answer::{Estimate, GameReference, Interval};
use hobble_questions::claim::ClaimAnswer;
use hobble_questions::claim::answer::{ClaimExample, Compared, Shares};
use serde::Serialize;
use shakmaty::{Color, Square};

use crate::board::{self, Marks, Picture};
use crate::game_words::GameWords;
use crate::page::{DatasetView, all_squares, file_name, long, paragraphs, position, square, style};
use crate::plot::Width;
use crate::plot::dots::{Dot, Dots, Row, Scale};
use crate::plot::incidence::{Curve, Incidence, Step};
use crate::svg::Words;
use crate::templates::fill;
use crate::text::{
    capital, count, decimals, list, percent, percent_interval, plain, points, points_interval,
    ratio, ratio_interval, small,
};

/// The answer to a claim as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where an example holds a position or square that cannot be read, naming it.
pub fn claim_page(answer: &ClaimAnswer) -> Result<String> {
    fill("claim.html", &View::new(answer)?)
}

/// A name and what is said of it.
#[derive(Serialize)]
pub(crate) struct Named {
    pub name: String,
    pub text: String,
}

/// A sign of the boards and what it means.
#[derive(Serialize)]
pub(crate) struct Sign {
    pub sign: String,
    pub text: &'static str,
}

pub(crate) fn signs() -> Vec<Sign> {
    board::key()
        .into_iter()
        .map(|(sign, text)| Sign { sign, text })
        .collect()
}

#[derive(Serialize)]
struct View {
    style: String,
    title: String,
    text: Vec<String>,
    verdict: String,
    association: bool,
    asked: Vec<Named>,
    plots: Vec<Figure>,
    comparison: Table,
    tables: Vec<Table>,
    examples: Vec<ExampleView>,
    key: Vec<Sign>,
    notes: Vec<String>,
    dataset: DatasetView,
    hobble: String,
    definitions: u32,
}

#[derive(Serialize)]
struct Figure {
    narrow: String,
    wide: String,
    caption: String,
}

#[derive(Serialize)]
struct Table {
    title: String,
    caption: String,
    head: Vec<&'static str>,
    rows: Vec<Vec<Cell>>,
}

/// A figure and its interval; empty where there is none.
#[derive(Serialize, Default)]
struct Cell {
    value: String,
    interval: String,
}

impl Cell {
    fn of(value: impl Into<String>) -> Cell {
        Cell {
            value: value.into(),
            interval: String::new(),
        }
    }
}

/// An example with its boards.
#[derive(Serialize)]
pub(crate) struct ExampleView {
    pub heading: String,
    pub rule: String,
    pub before: BoardView,
    pub after: BoardView,
    pub caption: String,
    pub facts: Vec<Named>,
}

/// A board, its words and its FEN.
#[derive(Serialize)]
pub(crate) struct BoardView {
    pub title: String,
    pub picture: String,
    pub words: String,
    pub fen: String,
}

impl BoardView {
    pub(crate) fn new(
        id: &str,
        title: &str,
        fen: &str,
        bottom: Color,
        marks: &Marks,
    ) -> Result<BoardView> {
        let board = position(fen)?;
        let picture = Picture {
            board: &board,
            marks,
            bottom,
            id,
            title,
        };
        Ok(BoardView {
            title: title.to_owned(),
            picture: picture.draw(),
            words: picture.words(),
            fen: plain(fen),
        })
    }
}

/// The colour a word names.
pub(crate) fn color(word: &str) -> Result<Color> {
    match word {
        "white" => Ok(Color::White),
        "black" => Ok(Color::Black),
        other => anyhow::bail!("{other:?} is neither white nor black"),
    }
}

/// Players, event and place in the archive.
pub(crate) fn game_facts(game: &GameReference) -> Vec<Named> {
    let words = GameWords::of(game);
    let fact = |name: &str, text: String| Named {
        name: name.to_owned(),
        text,
    };
    vec![
        fact("White", words.white),
        fact("Black", words.black),
        fact("Game", words.played),
        fact("Result", words.result),
        fact("Found in", place(game)),
        fact("Game id", plain(&game.game_id)),
    ]
}

pub(crate) fn place(game: &GameReference) -> String {
    format!(
        "{}, game {}, line {}",
        plain(file_name(&game.file)),
        count(u64::from(game.number)),
        count(game.line)
    )
}

impl ExampleView {
    pub(crate) fn new(number: usize, example: &ClaimExample) -> Result<ExampleView> {
        let owner = color(&example.color)?;
        let held: Square = square(&example.square)?;
        let label = plain(&example.cause.label);
        let before = Marks {
            held: Some(held),
            safe: all_squares(&example.safe_before)?,
            ..Marks::default()
        };
        let after = Marks {
            held: Some(held),
            taken: all_squares(&example.taken)?,
            safe: all_squares(&example.safe_after)?,
            arrow: Some((square(&example.cause.from)?, square(&example.cause.to)?)),
        };
        let what = format!("{} {} on {}", example.color, example.kind, example.square);
        let role = match example.role.as_str() {
            "clearest" => "The clearest game",
            "average" => "An average game",
            _ => "A counter-example: the restraint failed",
        };
        Ok(ExampleView {
            heading: format!("{role}: {label}"),
            rule: long(&example.rule),
            before: BoardView::new(
                &format!("before-{number}"),
                &format!("Before {label}: the {what}"),
                &example.fen_before,
                owner.other(),
                &before,
            )?,
            after: BoardView::new(
                &format!("after-{number}"),
                &format!("After {label}: the {what} held"),
                &example.fen_after,
                owner.other(),
                &after,
            )?,
            caption: long(&example.caption),
            facts: game_facts(&example.game),
        })
    }
}

fn bounds(interval: Option<Interval>) -> Option<(f64, f64)> {
    interval.map(|interval| (interval.low, interval.high))
}

fn share(estimate: &Estimate) -> Cell {
    estimate.value.map_or_else(
        || Cell::of("\u{2013}"),
        |value| {
            let decimals = decimals(value);
            Cell {
                value: percent(value, decimals),
                interval: estimate
                    .jackknife
                    .as_ref()
                    .map_or_else(String::new, |interval| percent_interval(interval, decimals)),
            }
        },
    )
}

fn times(estimate: &Estimate) -> Cell {
    estimate.value.map_or_else(
        || Cell::of("\u{2013}"),
        |value| Cell {
            value: ratio(value),
            interval: estimate
                .jackknife
                .as_ref()
                .map_or_else(String::new, ratio_interval),
        },
    )
}

fn difference(estimate: &Estimate) -> Cell {
    estimate.value.map_or_else(
        || Cell::of("\u{2013}"),
        |value| {
            let decimals = decimals(value);
            Cell {
                value: points(value, decimals),
                interval: estimate
                    .jackknife
                    .as_ref()
                    .map_or_else(String::new, |interval| points_interval(interval, decimals)),
            }
        },
    )
}

fn compared(row: &Compared) -> Vec<Cell> {
    let held = Cell {
        value: count(row.held_outcomes),
        interval: format!("of {}", count(row.held)),
    };
    vec![
        held,
        share(&row.held_rate),
        share(&row.free_rate),
        times(&row.ratio),
        difference(&row.difference),
    ]
}

/// Verdict and claim of an answer in a reader's words.
pub(crate) fn asked(answer: &ClaimAnswer) -> Vec<Named> {
    answer
        .claim
        .filters()
        .into_iter()
        .map(|(name, text)| Named {
            name,
            text: capital(&plain(&text)),
        })
        .collect()
}

impl View {
    fn new(answer: &ClaimAnswer) -> Result<View> {
        let examples = answer
            .examples
            .iter()
            .enumerate()
            .map(|(i, example)| {
                ExampleView::new(i + 1, example)
                    .with_context(|| format!("the {} game cannot be shown", example.role))
            })
            .collect::<Result<_>>()?;
        Ok(View {
            style: style(),
            title: plain(&answer.claim.title),
            text: paragraphs(&answer.claim.text),
            verdict: long(&answer.verdict),
            association: !answer.verdict.contains("association"),
            asked: asked(answer),
            plots: plots(answer)?,
            comparison: comparison(answer),
            tables: tables(answer),
            examples,
            key: signs(),
            notes: answer.notes.iter().map(|note| long(note)).collect(),
            dataset: DatasetView::new(&answer.dataset),
            hobble: plain(&answer.hobble),
            definitions: answer.definitions,
        })
    }
}

fn comparison(answer: &ClaimAnswer) -> Table {
    Table {
        title: "Against comparable free pieces".to_owned(),
        caption: format!(
            "Share {} within so many moves, with 95% intervals beneath",
            answer.claim.outcome
        ),
        head: vec![
            "Within",
            "Spells",
            "Held",
            "Com\u{ad}parable free",
            "Times as often",
            "Differ\u{ad}ence, points",
        ],
        rows: answer
            .comparison
            .iter()
            .map(|row| {
                let mut cells = vec![Cell::of(format!("{} moves", row.within))];
                cells.extend(compared(row));
                cells
            })
            .collect(),
    }
}

fn shares(label: String, shares: &Shares) -> Vec<Cell> {
    vec![
        Cell::of(label),
        Cell::of(count(shares.count)),
        share(&shares.share),
    ]
}

fn tables(answer: &ClaimAnswer) -> Vec<Table> {
    let claim = &answer.claim;
    let mut tables = vec![Table {
        title: "What ended the spells".to_owned(),
        caption: format!(
            "{} spells, each by how it ended; 95% intervals beneath",
            count(answer.spells)
        ),
        head: vec!["End", "Spells", "Share"],
        rows: answer
            .ends
            .iter()
            .map(|end| shares(capital(&end.end), &end.share))
            .collect(),
    }];
    if !answer.scores.is_empty() {
        tables.push(Table {
            title: "What the restrainer scored".to_owned(),
            caption: "Mean score (1 a win, 0.5 a draw) of the side that held the piece, once a game, against sides of games without such a spell, alike in rating band, rating difference and time class".to_owned(),
            head: vec!["Spells", "Games", "Score", "Com\u{ad}parable sides", "Differ\u{ad}ence"],
            rows: answer
                .scores
                .iter()
                .map(|score| {
                    let mean = |estimate: &Estimate, signed: bool| {
                        let shown = |value: f64| {
                            let sign = match value {
                                _ if !signed => "",
                                value if value < 0.0 => "\u{2212}",
                                _ => "+",
                            };
                            format!("{sign}{:.3}", value.abs())
                        };
                        Cell {
                            value: estimate.value.map_or_else(|| "\u{2013}".to_owned(), shown),
                            interval: estimate.jackknife.map_or_else(String::new, |interval| {
                                format!("{} to {}", shown(interval.low), shown(interval.high))
                            }),
                        }
                    };
                    vec![
                        Cell::of(capital(&score.label)),
                        Cell::of(count(score.games)),
                        mean(&score.score, false),
                        mean(&score.comparable, false),
                        mean(&score.difference, true),
                    ]
                })
                .collect(),
        });
    }
    tables.push(Table {
        title: "Had the claim been put otherwise".to_owned(),
        caption: format!(
            "One choice changed at a time, within {} moves; the horizons are in the table above. 95% intervals beneath",
            claim.within
        ),
        head: vec![
            "Choice",
            "Spells",
            "Held",
            "Com\u{ad}parable free",
            "Times as often",
            "Differ\u{ad}ence, points",
        ],
        rows: answer
            .sensitivity
            .iter()
            .enumerate()
            .map(|(i, row)| {
                let (mut name, own) = match i {
                    0..=4 => (format!("{} safe squares at most", small(u64::from(row.k))), row.k == claim.k),
                    5..=9 => (format!("held {} turns at least", small(u64::from(row.turns))), row.turns == claim.turns),
                    _ => (format!("counted: {}", row.outcome), row.outcome == claim.outcome),
                };
                name = name.replace("one safe squares", "one safe square").replace("one turns", "one turn");
                if own {
                    name.push_str(" (the claim)");
                }
                let mut cells = vec![Cell::of(capital(&name))];
                cells.extend(compared(row));
                cells
            })
            .collect(),
    });
    tables.push(Table {
        title: "A wider loss".to_owned(),
        caption: "The piece lost, or its owner two pawns down, counted from the start of the spell. Free turns are not counted for this, so that it has no comparison".to_owned(),
        head: vec!["Within", "Spells", "Share"],
        rows: answer
            .material
            .iter()
            .map(|row| shares(format!("{} moves", row.within), &row.share))
            .collect(),
    });
    tables
}

fn figure(caption: String, draw: impl Fn(Width, &str) -> Result<String>) -> Result<Figure> {
    Ok(Figure {
        narrow: draw(Width::Narrow, "narrow")?,
        wide: draw(Width::Wide, "wide")?,
        caption,
    })
}

fn plots(answer: &ClaimAnswer) -> Result<Vec<Figure>> {
    if answer.spells == 0 {
        return Ok(Vec::new());
    }
    let mut figures = vec![curve_figure(answer)?];
    let rows: Vec<Row> = answer
        .comparison
        .iter()
        .map(|row| {
            let dot = |estimate: &Estimate| {
                estimate
                    .value
                    .filter(|_| row.too_few.is_none())
                    .map(|value| Dot {
                        value,
                        interval: bounds(estimate.jackknife),
                        text: percent(value, decimals(value)),
                    })
            };
            Row {
                label: format!("within {} moves", row.within),
                all: false,
                dots: vec![dot(&row.held_rate), dot(&row.free_rate)],
                missing: "too few games to tell".to_owned(),
            }
        })
        .collect();
    let series = ["held".to_owned(), "comparable free".to_owned()];
    let words = in_words(answer, |row| (&row.held_rate, &row.free_rate));
    let title = format!("Share {}, held and free", answer.claim.outcome);
    figures.push(figure(
        "Exact counts at the five horizons for which free pieces are counted; whiskers are 95% intervals.".to_owned(),
        |width, name| {
            Dots {
                series: &series,
                rows: &rows,
                scale: Scale::Share,
                axis: &format!("share {}", answer.claim.outcome),
            }
            .draw(
                Words {
                    id: &format!("shares-{name}"),
                    title: &title,
                    description: &words,
                },
                width,
            )
        },
    )?);
    Ok(figures)
}

fn in_words(answer: &ClaimAnswer, of: impl Fn(&Compared) -> (&Estimate, &Estimate)) -> String {
    let said: Vec<String> = answer
        .comparison
        .iter()
        .map(|row| {
            let (held, free) = of(row);
            match (held.value, free.value, &row.too_few) {
                (Some(held), Some(free), None) => format!(
                    "within {} moves {} held, {} free",
                    row.within,
                    percent(held, decimals(held)),
                    percent(free, decimals(free))
                ),
                _ => format!("within {} moves too few games to tell", row.within),
            }
        })
        .collect();
    format!("{}.", capital(&list(&said)))
}

fn curve_figure(answer: &ClaimAnswer) -> Result<Figure> {
    type Of = fn(&hobble_questions::claim::answer::CurvePoint) -> &Shares;
    let ends: [(&str, Of); 4] = [
        ("lost", |point| &point.lost),
        ("traded", |point| &point.traded),
        ("sold", |point| &point.sold),
        ("game over", |point| &point.over),
    ];
    let curves: Vec<Curve> = ends
        .iter()
        .map(|(label, of)| Curve {
            label: (*label).to_owned(),
            steps: answer
                .curve
                .iter()
                .map(|point| Step {
                    moves: f64::from(point.moves),
                    share: of(point).share.value.unwrap_or(0.0),
                    interval: bounds(of(point).share.jackknife),
                })
                .collect(),
        })
        .collect();
    let last: Vec<String> = ends
        .iter()
        .filter_map(|(label, of)| {
            let value = of(answer.curve.last()?).share.value?;
            Some(format!("{label} {}", percent(value, decimals(value))))
        })
        .collect();
    let words = format!(
        "Of {} spells, after 20 moves: {}.",
        count(answer.spells),
        list(&last)
    );
    figure(
        format!(
            "What had become of the held piece, by moves since turn {} of the spell; bands are 95% intervals. Exact counts: every game is known to its end. Sold: captured for more than its value.",
            answer.claim.turns
        ),
        |width, name| {
            Incidence {
                curves: &curves,
                moves: 20.0,
                axis: "share of the held pieces",
            }
            .draw(
                Words {
                    id: &format!("curve-{name}"),
                    title: "What became of the held pieces",
                    description: &words,
                },
                width,
            )
        },
    )
}
