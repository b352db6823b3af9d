//! Micro-benchmarks of the chess kernel, over positions and games of the invented season in
//! `small-sample/`: exchange on every contested square, mobility of both sides from nothing,
//! chances to restrain, a game followed from ply to ply.

mod season;

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use hobble_terms::value;
use hobble_tracks::chances::Finder;
use hobble_tracks::exchange::Exchange;
use hobble_tracks::mobility::Mobility;
use hobble_tracks::rules::Rules;
use hobble_tracks::sight::Sight;
use hobble_tracks::track::Track;
use shakmaty::{Bitboard, Color, Position, Square};

fn kernel(criterion: &mut Criterion) {
    let games = season::games(200);
    let mut group = criterion.benchmark_group("kernel");

    // Every 16th position of every game: openings, middlegames and endgames.
    let positions: Vec<_> = games.iter().flat_map(|game| game.positions(16)).collect();
    let sights: Vec<_> = positions
        .iter()
        .map(|position| Sight::of(position.board()))
        .collect();

    // What the cheap tests cannot settle: squares both sides attack, entered by a queen.
    let entries: Vec<(&Sight, Color, Square, Square)> = sights
        .iter()
        .flat_map(|sight| {
            Color::ALL.into_iter().flat_map(move |color| {
                let own = sight.board.by_color(color);
                let queens = own & sight.board.queens();
                let contested = sight.control.get(color).all & sight.control.get(!color).all;
                queens.into_iter().flat_map(move |from| {
                    (sight.attacks(from) & contested & !own & !sight.board.kings())
                        .into_iter()
                        .map(move |to| (sight, color, from, to))
                })
            })
        })
        .collect();
    group.throughput(Throughput::Elements(entries.len() as u64));
    group.bench_function("exchange", |bencher| {
        bencher.iter(|| {
            for &(sight, color, from, to) in &entries {
                let board = &sight.board;
                let gain = board.role_at(to).map_or(0, value);
                let occupied = board.occupied() & !Bitboard::from_square(from);
                let worth = value(shakmaty::Role::Queen);
                black_box(Exchange::on(board, to).holds(color, worth, gain, occupied));
            }
        });
    });

    group.throughput(Throughput::Elements(positions.len() as u64));
    group.bench_function("mobility of both sides", |bencher| {
        let mut mobility = Mobility::default();
        bencher.iter(|| {
            for (position, sight) in positions.iter().zip(&sights) {
                for color in Color::ALL {
                    mobility.measure(sight, Rules::of(position), color);
                    black_box(&mobility);
                }
            }
        });
    });

    group.bench_function("chances to restrain, by turn", |bencher| {
        let mut finder = Finder::default();
        bencher.iter(|| {
            for position in &positions {
                finder.find(position, position.them());
                black_box(finder.chances());
            }
        });
    });

    group.finish();
    following(criterion, &games);
}

/// Whole games, ply by ply.
fn following(criterion: &mut Criterion, games: &[season::Game]) {
    let mut group = criterion.benchmark_group("kernel");
    let plies: usize = games.iter().map(|game| game.moves.len()).sum();
    group.throughput(Throughput::Elements(plies as u64));
    group.bench_function("replay, by ply", |bencher| {
        bencher.iter(|| {
            for game in games {
                let mut position = game.start.clone();
                for &m in &game.moves {
                    position.play_unchecked(m);
                }
                black_box(position);
            }
        });
    });
    group.bench_function("track, by ply", |bencher| {
        let mut track = Track::new();
        bencher.iter(|| {
            for game in games {
                track.begin(&game.start);
                for &m in &game.moves {
                    track.play(m);
                }
                track.finish();
                black_box(track.spells());
            }
        });
    });
    group.finish();
}

criterion_group!(benches, kernel);
criterion_main!(benches);
