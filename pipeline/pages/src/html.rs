//! A report as HTML: one renderer for the pages of every sort of question. Plots are drawn by
//! [`crate::plot`], boards by [`crate::board`].

use anyhow::{Context as _, Result};
use hobble_claim::Terms;
use hobble_report::{
    Arrow, Block, Board, Cell, Column, Fact, Game, Games, Item, Method, Placed, Plot, Report, Row,
    Table, Tone, Trait, plain,
};
use serde::Serialize;

use crate::board_key;
use crate::board_view::BoardView;
use crate::needs::Needs;
use crate::plot::{Draw as _, Width};
use crate::script::Script;
use crate::stretch_view::StretchView;
use crate::svg::Words;
use crate::templates::fill;
use crate::terms_view::TermsView;

/// The report as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where a game holds a position or square that cannot be read, naming it, or where a plot
/// cannot be drawn.
pub(crate) fn html(report: &Report<'_>, terms: Option<&Terms>) -> Result<String> {
    let sections = report
        .sections
        .iter()
        .map(|section| {
            let blocks = section
                .blocks
                .iter()
                .map(|Placed { block, .. }| BlockView::new(block, &section.title))
                .collect::<Result<_>>()?;
            Ok(SectionView {
                id: section.id.clone(),
                title: plain(&section.title),
                blocks,
                // Boards side by side need more room than a column of text.
                examples: section.blocks.iter().any(
                    |Placed { block, .. }| matches!(block, Block::Games(games) if !in_pairs(games)),
                ),
            })
        })
        .collect::<Result<_>>()?;
    let needs = Needs::of(report, terms.is_some());
    let view = View {
        style: needs.style(),
        script: needs.script(),
        sprite: needs.symbols(),
        subject: report.subject,
        title: plain(&report.title),
        sections,
        hobble: plain(&report.made.hobble),
        tables_by: plain(&report.made.tables_by),
        definitions: report.made.definitions,
        terms: terms.map(TermsView::new).transpose()?,
    };
    let mut page = fill("report.html", &view)?;
    if let (Some(why), Some(end)) = (needs.why_large(page.len()), page.rfind("</footer>")) {
        page.insert_str(end, &format!("<p>{why}</p>\n"));
    }
    Ok(page)
}

#[derive(Serialize)]
struct View {
    style: String,
    #[serde(flatten)]
    script: Option<Script>,
    sprite: Option<String>,
    subject: &'static str,
    title: String,
    sections: Vec<SectionView>,
    hobble: String,
    tables_by: String,
    definitions: u32,
    /// The terms that a reader can change.
    terms: Option<TermsView>,
}

#[derive(Serialize)]
struct SectionView {
    id: String,
    title: String,
    examples: bool,
    blocks: Vec<BlockView>,
}

#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum BlockView {
    Heading {
        text: String,
    },
    Paragraph {
        class: &'static str,
        text: String,
    },
    List {
        items: Vec<ItemView>,
    },
    Terms {
        facts: Vec<FactView>,
    },
    Facts {
        facts: Vec<FactView>,
    },
    Methods {
        methods: Vec<MethodView>,
    },
    Table {
        table: TableView,
    },
    Figure {
        narrow: String,
        wide: String,
        caption: String,
    },
    Games {
        key: Vec<Sign>,
        pairs: bool,
        /// Whether boards that play their game stand in place of the fixed ones.
        instead: bool,
        to_choose: bool,
        games: Vec<GameView>,
    },
}

#[derive(Serialize)]
struct ItemView {
    name: String,
    text: String,
    remarks: Vec<String>,
}

/// A name and what is said of it, made harmless.
#[derive(Serialize)]
pub(crate) struct FactView {
    pub name: String,
    pub text: String,
}

#[derive(Serialize)]
struct MethodView {
    name: String,
    text: String,
    source: String,
}

#[derive(Serialize)]
struct TableView {
    title: String,
    caption: String,
    label: String,
    class: &'static str,
    scroll: bool,
    groups: Vec<GroupView>,
    columns: Vec<String>,
    rows: Vec<RowView>,
}

/// Neighbouring columns under one name.
#[derive(Serialize)]
struct GroupView {
    name: &'static str,
    span: usize,
}

#[derive(Serialize)]
struct RowView {
    all: bool,
    name: String,
    /// What is counted in the row, beneath its name.
    counted: String,
    cells: Vec<CellView>,
}

#[derive(Serialize)]
struct CellView {
    class: &'static str,
    value: String,
    beneath: Vec<String>,
}

/// A sign of the boards and what it means.
#[derive(Serialize)]
pub(crate) struct Sign {
    pub sign: String,
    pub text: &'static str,
}

/// A game with its boards.
#[derive(Serialize)]
pub(crate) struct GameView {
    heading: String,
    caption: String,
    boards: Vec<BoardView>,
    facts: Vec<FactView>,
    stretch: Option<StretchView>,
    /// Its traits as a JSON object; empty where there are none.
    traits: String,
}

impl BlockView {
    fn new(block: &Block, section: &str) -> Result<BlockView> {
        Ok(match block {
            Block::Heading(text) => BlockView::Heading { text: plain(text) },
            Block::Paragraph(tone, text) => BlockView::Paragraph {
                class: match tone {
                    Tone::Lead => "lead",
                    Tone::Caution => "caution",
                    Tone::Plain => "",
                    Tone::Quiet => "remarks",
                },
                text: plain(text),
            },
            Block::List(items) => BlockView::List {
                items: items.iter().map(ItemView::new).collect(),
            },
            Block::Terms(terms) => BlockView::Terms {
                facts: facts(terms),
            },
            Block::Facts(said) => BlockView::Facts { facts: facts(said) },
            Block::Methods(methods) => BlockView::Methods {
                methods: methods.iter().map(MethodView::new).collect(),
            },
            Block::Table(table) => BlockView::Table {
                table: TableView::new(table, section),
            },
            Block::Plot(plot) => BlockView::Figure {
                narrow: drawn(plot, "narrow", Width::Narrow)?,
                wide: drawn(plot, "wide", Width::Wide)?,
                caption: plain(&plot.caption),
            },
            Block::Games(games) => BlockView::Games {
                key: key(games),
                pairs: in_pairs(games),
                instead: matches!(games.arrow, Arrow::Cause | Arrow::Came),
                to_choose: games.to_choose,
                games: game_views(games, BoardView::by_symbols)?,
            },
        })
    }
}

/// A plot of one width.
fn drawn(plot: &Plot, size: &str, width: Width) -> Result<String> {
    let id = format!("{}-{size}", plot.name);
    let words = Words {
        id: &id,
        title: &plot.title,
        description: &plot.words,
    };
    plot.drawing
        .draw(words, width)
        .with_context(|| format!("the plot {} cannot be drawn", plot.name))
}

/// Whether each game is shown before and after.
fn in_pairs(games: &Games) -> bool {
    games.games.iter().any(|game| game.boards.len() > 1)
}

/// The signs used on the boards of these games.
pub(crate) fn key(games: &Games) -> Vec<Sign> {
    let key = match games.arrow {
        Arrow::Cause => board_key::key_for(true, "the move that took them", "the restrained piece"),
        Arrow::Came => board_key::key_for(true, "the move that led here", "the held piece"),
        Arrow::Reply => {
            board_key::key_for(false, "a reply that would have freed it", "the held piece")
        }
        Arrow::Chance => board_key::key_for(
            true,
            "a move that would have taken them",
            "the piece that could have been restrained",
        ),
        Arrow::Better => {
            let mut boards = games.games.iter().flat_map(|game| &game.boards);
            let taken = boards.any(|board| !board.taken.is_empty());
            board_key::key_for(taken, "a move that was there", "the piece to look at")
        }
        Arrow::LastMove => board_key::key_of_side(),
    };
    key.into_iter()
        .map(|(sign, text)| Sign { sign, text })
        .collect()
}

/// The games with their boards, each drawn by `draw`.
pub(crate) fn game_views(
    games: &Games,
    draw: fn(&Board) -> Result<BoardView>,
) -> Result<Vec<GameView>> {
    let pairs = in_pairs(games);
    (1..)
        .zip(&games.games)
        .map(|(number, game)| {
            GameView::new(number, game, pairs, draw)
                .with_context(|| format!("game {number} cannot be shown"))
        })
        .collect()
}

fn facts(facts: &[Fact]) -> Vec<FactView> {
    facts
        .iter()
        .map(|fact| FactView {
            name: plain(&fact.name),
            text: plain(&fact.text),
        })
        .collect()
}

/// Names and values, as `choose.js` reads them.
fn traits(traits: &[Trait]) -> Result<String> {
    if traits.is_empty() {
        return Ok(String::new());
    }
    let named: serde_json::Map<String, serde_json::Value> = traits
        .iter()
        .map(|one| Ok((one.name.to_owned(), serde_json::to_value(&one.value)?)))
        .collect::<serde_json::Result<_>>()?;
    Ok(serde_json::to_string(&named)?)
}

impl GameView {
    fn new(
        number: usize,
        game: &Game,
        pairs: bool,
        draw: fn(&Board) -> Result<BoardView>,
    ) -> Result<GameView> {
        let heading = plain(&game.heading);
        Ok(GameView {
            heading: if pairs {
                heading
            } else {
                format!("{number}. {heading}")
            },
            caption: plain(&game.caption),
            boards: game.boards.iter().map(draw).collect::<Result<_>>()?,
            facts: facts(&game.facts),
            stretch: game
                .stretch
                .as_ref()
                .zip(game.boards.first())
                .map(|(stretch, board)| StretchView::new(stretch, board.bottom))
                .transpose()?,
            traits: traits(&game.traits)?,
        })
    }
}

impl ItemView {
    fn new(item: &Item) -> ItemView {
        ItemView {
            name: item.name.as_deref().map_or_else(String::new, plain),
            text: plain(&item.text),
            remarks: item.remarks.iter().map(|remark| plain(remark)).collect(),
        }
    }
}

impl MethodView {
    fn new(method: &Method) -> MethodView {
        MethodView {
            name: plain(&method.name),
            text: plain(&method.text),
            source: plain(&method.source),
        }
    }
}

/// Longest name of a column, in characters, of a table that fits a phone.
const LONGEST_NAME: usize = 24;

/// A column's name with places at which a narrow column may break it.
fn breakable(name: &str) -> String {
    plain(name)
        .replace("omparable", "om\u{ad}parable")
        .replace("ifference", "iffer\u{ad}ence")
        .replace("ardised", "ard\u{ad}ised")
}

impl TableView {
    fn new(table: &Table, section: &str) -> TableView {
        let mut groups: Vec<GroupView> = Vec::new();
        for column in table.columns.iter().skip(1) {
            match (column.group, groups.last_mut()) {
                (Some(name), Some(last)) if last.name == name => last.span += 1,
                (Some(name), _) => groups.push(GroupView { name, span: 1 }),
                (None, _) => {}
            }
        }
        // So many of so many is said beneath the row's name: a phone has no column to spare.
        let is_part = |row: &Row| matches!(row.cells.get(1), Some(Cell::Part(..)));
        let is_count = |row: &Row| matches!(row.cells.get(1), Some(Cell::Part(..) | Cell::Text(_)));
        let counted = table.rows.iter().any(is_part) && table.rows.iter().all(is_count);
        let named = 1 + usize::from(counted);
        // Beyond five columns, or with long names, a table does not fit a phone, so it scrolls.
        let long = |column: &Column| column.name.chars().count() > LONGEST_NAME;
        let scroll = table.columns.len() > 5 || table.columns.iter().any(long);
        // Where a column has intervals, a figure without one is shown as the weaker.
        let intervals: Vec<bool> = (0..table.columns.len())
            .map(|index| {
                let mut cells = table.rows.iter().filter_map(|row| row.cells.get(index));
                cells.any(|cell| !cell.beneath().is_empty())
            })
            .collect();
        let title = plain(&table.title);
        TableView {
            label: format!(
                "{}: {}",
                plain(section),
                if title.is_empty() {
                    plain(&table.caption)
                } else {
                    title.clone()
                }
            ),
            title,
            caption: plain(&table.caption),
            class: match (scroll, counted) {
                (true, _) => "small levels",
                (false, true) => "main counted",
                (false, false) => "main",
            },
            scroll,
            groups,
            columns: table
                .columns
                .iter()
                .enumerate()
                .filter(|(index, _)| !(counted && *index == 1))
                .map(|(_, column)| breakable(&column.name))
                .collect(),
            rows: table
                .rows
                .iter()
                .map(|row| RowView {
                    all: row.all && table.rows.len() > 1,
                    name: row.cells.first().map_or_else(String::new, name),
                    counted: if counted {
                        row.cells.get(1).map_or_else(String::new, name)
                    } else {
                        String::new()
                    },
                    cells: row
                        .cells
                        .iter()
                        .zip(&intervals)
                        .skip(named)
                        .map(|(cell, intervals)| CellView::new(cell, *intervals))
                        .collect(),
                })
                .collect(),
        }
    }
}

fn name(cell: &Cell) -> String {
    plain(&cell.words())
}

impl CellView {
    fn new(cell: &Cell, intervals: bool) -> CellView {
        let mut beneath = cell.beneath();
        let class = match cell {
            Cell::None(..) => "none",
            Cell::Figure(_) if intervals && beneath.is_empty() => {
                beneath.push("no interval".to_owned());
                "weak"
            }
            Cell::Figure(_) => "value",
            _ => "",
        };
        beneath.extend(
            cell.out_of()
                .map(|of| format!("of {}", hobble_report::number::count(of))),
        );
        CellView {
            class,
            value: plain(&cell.words()),
            beneath,
        }
    }
}
