//! Criterion's view of the engine: the kernel, the plain and the everything-on sweep, scalar code, and scaling.
//!
//! Criterion times one thing after the other; the ratios that are held against their aims are measured side by side by
//! `table.rs`. Throughput is in draws for the kernel and in piece-steps elsewhere (one piece of the largest batch at one
//! step in one trial).
#![allow(missing_docs, reason = "criterion's macros make public items")]

mod common;

use batchwright_core::engine::Plan;
use common::{
    Features, Kernel, SIZE, STEPS, TILE_DRAWS, TRIALS, scalar_hours, scalar_sweep, scenario, simulate, whole,
};
use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use rand::SeedableRng;
use rand::rngs::{SmallRng, StdRng};
use rayon::{ThreadPool, ThreadPoolBuilder};

fn pool(threads: usize) -> ThreadPool {
    ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .expect("threads to be had")
}

fn piece_steps(size: u32, steps: u32, trials: u64) -> Throughput {
    Throughput::Elements(u64::from(size) * u64::from(steps) * trials)
}

fn kernel(c: &mut Criterion) {
    const TILES: u64 = 256;
    let mut group = c.benchmark_group("kernel");
    group.throughput(Throughput::Elements(TILES * TILE_DRAWS));
    let mut kernel = Kernel::new();
    group.bench_function("engine loop", |b| b.iter(|| kernel.tiles(TILES)));
    group.bench_function("generator, square root, add", |b| b.iter(|| kernel.roofline(TILES)));
    group.bench_function("generator, add", |b| b.iter(|| kernel.generator_and_add(TILES)));
    group.bench_function("generator", |b| b.iter(|| kernel.generator(TILES)));
    group.finish();
}

fn sweeps(c: &mut Criterion) {
    let one = pool(1);
    let mut group = c.benchmark_group("sweep");
    group.sample_size(20).throughput(piece_steps(SIZE, STEPS, TRIALS));
    for (name, on) in [("plain", Features::PLAIN), ("everything", Features::EVERYTHING)] {
        let shop = scenario(SIZE, STEPS, on);
        let plan = Plan::new(&shop);
        group.bench_function(BenchmarkId::new(name, "simulation"), |b| {
            b.iter(|| one.install(|| simulate(&plan, TRIALS)));
        });
        group.bench_function(BenchmarkId::new(name, "whole"), |b| b.iter(|| whole(&shop, TRIALS, 1)));
    }
    group.sample_size(10);
    let mut small = SmallRng::seed_from_u64(1);
    let mut standard = StdRng::seed_from_u64(1);
    group.bench_function("scalar, small generator/simulation", |b| {
        b.iter(|| scalar_hours(&mut small, SIZE, STEPS, TRIALS));
    });
    group.bench_function("scalar, small generator/whole", |b| {
        b.iter(|| scalar_sweep(&mut small, SIZE, STEPS, TRIALS));
    });
    group.bench_function("scalar, default generator/whole", |b| {
        b.iter(|| scalar_sweep(&mut standard, SIZE, STEPS, TRIALS));
    });
    group.finish();
}

fn features(c: &mut Criterion) {
    let one = pool(1);
    let mut group = c.benchmark_group("feature alone");
    group.sample_size(20).throughput(piece_steps(SIZE, STEPS, TRIALS));
    for (name, on) in Features::ALONE {
        let plan = Plan::new(&scenario(SIZE, STEPS, on));
        group.bench_function(name, |b| b.iter(|| one.install(|| simulate(&plan, TRIALS))));
    }
    group.finish();
}

fn scaling(c: &mut Criterion) {
    let mut scale = |name: &str, cases: &[(u64, u32, u32, u64, usize)]| {
        let mut group = c.benchmark_group(name);
        group.sample_size(20);
        for &(value, size, steps, trials, threads) in cases {
            let shop = scenario(size, steps, Features::PLAIN);
            group.throughput(piece_steps(size, steps, trials));
            group.bench_function(BenchmarkId::from_parameter(value), |b| {
                b.iter(|| whole(&shop, trials, threads));
            });
        }
        group.finish();
    };
    scale(
        "by size",
        &[50, 100, 200, 400].map(|n| (u64::from(n), n, STEPS, TRIALS, 1)),
    );
    scale("by steps", &[5, 10, 20].map(|n| (u64::from(n), SIZE, n, TRIALS, 1)));
    scale("by trials", &[10_000, 20_000, 40_000].map(|n| (n, SIZE, STEPS, n, 1)));
    scale("by threads", &[1, 2].map(|n| (n as u64, SIZE, STEPS, TRIALS, n)));
}

criterion_group!(benches, kernel, sweeps, features, scaling);
criterion_main!(benches);
