//! Which address leads to which screen.

use std::sync::Arc;

use axum::Router;
use axum::extract::{DefaultBodyLimit, Request};
use axum::middleware::{Next, from_fn};
use axum::response::Response;
use axum::routing::{get, post};

use crate::guard::{add_headers, refused};
use crate::screens::{
    assets, claim, games, handout, keep, lessons, players, positions, questions, quiz, reading,
    start,
};
use crate::shared::Shared;

/// Most bytes of a form.
pub const FORM_BYTES: usize = 256 * 1024;

/// Everything the desk answers.
pub fn router(desk: &Arc<Shared>) -> Router {
    let screens = Router::new()
        .route("/", get(start::show))
        .route("/desk.css", get(assets::style))
        .route("/desk.js", get(assets::script))
        .route(
            "/archives",
            post(start::upload).layer(DefaultBodyLimit::disable()),
        )
        .route("/claim", get(claim::show).post(claim::save))
        .route("/claim.json", get(claim::count))
        .route("/positions", get(positions::show))
        .route("/positions/page", get(positions::kept))
        .route("/handout", get(handout::show))
        .route("/handout/add", post(handout::add))
        .route("/handout/change", post(handout::change))
        .route("/handout/sheet", get(handout::sheet))
        .route(
            "/handout/saved",
            post(handout::add_saved).layer(DefaultBodyLimit::max(handout::SAVED_BYTES)),
        )
        .route("/handout.pgn", get(handout::kept))
        .route("/handout.json", get(handout::kept))
        .route("/lessons", get(lessons::show).post(lessons::make))
        .route("/lessons/{name}/remove", post(lessons::remove))
        .route("/lessons/{name}/{page}", get(lessons::one))
        .route("/keep", get(keep::show))
        .route("/keep/parquet", get(keep::parquet))
        .route("/games.csv", get(keep::games_csv))
        .route("/games", get(games::show))
        .route("/games.pgn", get(games::pgn))
        .route("/game", get(games::game))
        .route("/game.pgn", get(games::game_pgn))
        .route("/players", get(players::show))
        .route("/players.json", get(players::found))
        .route("/player", get(players::one))
        .route("/habits", get(players::habits))
        .route("/questions", get(questions::show))
        .route("/questions/{name}", get(questions::one))
        .route("/questions/{name}/remove", post(questions::remove))
        .route("/questions/{name}/handout", get(questions::handout))
        .route("/questions/{name}/examples.pgn", get(questions::examples))
        .route("/quiz", get(quiz::show))
        .route("/quiz/page", get(quiz::made))
        .route("/reading", get(reading::show).post(reading::begin))
        .route("/reading.json", get(reading::state))
        .route("/reading/stop", post(reading::stop))
        .layer(DefaultBodyLimit::max(FORM_BYTES))
        .with_state(Arc::clone(desk));
    let guarded = Arc::clone(desk);
    let guard = from_fn(move |request: Request, next: Next| {
        let desk = Arc::clone(&guarded);
        async move {
            let mut response: Response = match desk.guard.admit(&request) {
                Ok(()) => next.run(request).await,
                Err(refusal) => refused(refusal),
            };
            add_headers(response.headers_mut());
            response
        }
    });
    let missing = Arc::clone(desk);
    Router::new()
        .nest(&format!("{}/", desk.base), screens)
        .fallback(move || async move {
            missing.failure(crate::failed::Failed::missing(
                "There is no such page on this desk.",
            ))
        })
        .layer(guard)
}
