//! Files to keep: the tables as Parquet, the games as PGN and CSV.

use axum::body::Body;
use axum::extract::State;
use hobble_report::number::counted;
use hobble_report::plain_short;
use hobble_terms::Table;
use serde::Serialize;
use tokio_util::io::ReaderStream;

use crate::failed::Failed;
use crate::form::Form;
use crate::page::{Answer, file};
use crate::screens::games::wanted;
use crate::screens::start::size;
use crate::screens::{Asked, Desk, form};
use crate::shared::Shared;
use crate::tables::game_list::games;

#[derive(Serialize)]
struct View {
    tables: Vec<TableView>,
}

#[derive(Serialize)]
struct TableView {
    name: &'static str,
    rows: String,
    files: Vec<FileView>,
}

#[derive(Serialize)]
struct FileView {
    name: String,
    size: String,
    query: String,
}

/// The list of files.
pub async fn show(State(desk): Desk) -> Answer {
    desk.work(|desk| {
        let dataset = desk.dataset()?;
        let manifest = desk.folder.manifest()?;
        let mut tables = Vec::new();
        for table in Table::ALL.into_iter().filter(|table| dataset.has(*table)) {
            let rows = (manifest.as_ref()).and_then(|manifest| manifest.tables.get(&table));
            tables.push(TableView {
                name: table.name(),
                rows: counted(rows.map_or(0, |size| size.rows), "row"),
                files: files(desk, table)?,
            });
        }
        desk.screen("keep.html", &View { tables })
    })
    .await
    .map_err(|failed| desk.failure(failed))
}

fn files(desk: &Shared, table: Table) -> Result<Vec<FileView>, Failed> {
    let parts = desk.dataset()?.parts(table)?;
    let parts = parts.iter().map(|part| {
        let id = part.id();
        let pairs = [
            ("table", table.name().to_owned()),
            ("source", id.source.clone()),
            ("part", id.number.to_string()),
        ];
        Ok(FileView {
            name: format!("{}, part {}", plain_short(&id.source), id.number),
            size: size(std::fs::metadata(part.path())?.len()),
            query: serde_urlencoded::to_string(pairs)?,
        })
    });
    parts.collect()
}

/// A file of a table. Only files that the manifest names are handed out.
pub async fn parquet(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    let found = desk.work(move |desk| path(desk, &form)).await;
    let opened = match found {
        Ok((path, name)) => match tokio::fs::File::open(&path).await {
            Ok(open) => Ok((open, name)),
            Err(error) => Err(Failed::from(error)),
        },
        Err(failed) => Err(failed),
    };
    let (open, name) = opened.map_err(|failed| desk.failure(failed))?;
    let body = Body::from_stream(ReaderStream::new(open));
    Ok(file(&name, "application/vnd.apache.parquet", body))
}

fn path(desk: &Shared, form: &Form) -> Result<(std::path::PathBuf, String), Failed> {
    let missing = || Failed::missing("There is no such file of a table.");
    let table = form.get("table").and_then(Table::from_name);
    let table = table.ok_or_else(missing)?;
    let parts = desk.dataset()?.parts(table)?;
    let part = parts.iter().find(|part| {
        form.get("source") == Some(part.source()) && form.number("part") == Some(part.id().number)
    });
    let part = part.ok_or_else(missing)?;
    let name = format!(
        "{}-{}-{}.parquet",
        table.name(),
        part.source(),
        part.id().number
    );
    Ok((part.path().to_owned(), name))
}

/// The games found as CSV, a line each.
pub async fn games_csv(State(desk): Desk, asked: Asked) -> Answer {
    let form = form(asked);
    desk.work(move |desk| {
        let found = games(&desk.dataset()?, &wanted(&form), 0, 1 << 20)?;
        let mut out = csv::Writer::from_writer(Vec::new());
        out.write_record([
            "source", "game", "white", "black", "event", "date", "result", "plies",
        ])?;
        for game in &found.some {
            let text = |text: &Option<String>| text.clone().unwrap_or_default();
            out.write_record([
                game.source.clone(),
                game.number.to_string(),
                text(&game.white),
                text(&game.black),
                text(&game.event),
                text(&game.date),
                game.result.clone(),
                game.plies.to_string(),
            ])?;
        }
        let bytes = out.into_inner().map_err(|error| error.into_error())?;
        Ok(file("games.csv", "text/csv; charset=utf-8", bytes))
    })
    .await
    .map_err(|failed| desk.failure(failed))
}
