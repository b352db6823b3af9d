//! Micro-benchmarks of the rows, over the invented season in `small-sample/`: its games read,
//! followed and encoded, with each table alone and with all of them.

mod season;

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use hobble_tables::gather::{Gatherer, keep_all};
use hobble_tables::layouts::Layouts;
use hobble_terms::Table;
use hobble_terms::manifest::Cuts;

fn rows(criterion: &mut Criterion) {
    let block = season::block();
    let mut group = criterion.benchmark_group("rows");
    group.sample_size(20);
    group.throughput(Throughput::Elements(block.games.len() as u64));
    let choices = [
        ("none", vec![]),
        ("games", vec![Table::Games]),
        ("moves", vec![Table::Moves]),
        ("spells", vec![Table::Spells]),
        ("all", Table::ALL.to_vec()),
    ];
    for (name, tables) in choices {
        let layouts = Layouts::new(&tables).expect("all types have a place in Parquet");
        let mut gatherer = Gatherer::new(Arc::new(layouts), Cuts::default());
        group.bench_function(format!("a block with {name}"), |bencher| {
            bencher.iter(|| black_box(gatherer.block("season.pgn", &block, keep_all).is_ok()));
        });
    }
    group.finish();
}

criterion_group!(benches, rows);
criterion_main!(benches);
