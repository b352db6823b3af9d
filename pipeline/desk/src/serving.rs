//! Connections: a bounded number of them, each with a bound on the time its headers may take.

use std::future::Future;
use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

/// Connections at a time; others wait to be taken.
const CONNECTIONS: usize = 64;

/// Time for the headers of a request, and for the next request of a connection to begin.
const HEADERS: Duration = Duration::from_secs(20);

/// Longest head of a request in bytes.
const HEAD_BYTES: usize = 64 * 1024;

/// Answers until `stop` is over. Answers that are under way are broken off then.
pub async fn serve(listener: TcpListener, router: Router, stop: impl Future<Output = ()>) {
    let free = Arc::new(Semaphore::new(CONNECTIONS));
    let mut stop = pin!(stop);
    loop {
        let Ok(place) = Arc::clone(&free).acquire_owned().await else {
            return;
        };
        let stream = tokio::select! {
            () = &mut stop => return,
            accepted = listener.accept() => match accepted {
                Ok((stream, _)) => stream,
                // No file handle is free, or the other side has gone: the next may do better.
                Err(_) => {
                    tokio::time::sleep(Duration::from_millis(50)).await;
                    continue;
                }
            },
        };
        let service = TowerToHyperService::new(router.clone());
        tokio::spawn(async move {
            let connection = http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(HEADERS)
                .max_buf_size(HEAD_BYTES)
                .serve_connection(TokioIo::new(stream), service);
            // A connection that breaks is the other side's matter.
            let _ = connection.await;
            drop(place);
        });
    }
}
