//! Runs one property over many random cases and says what was compared.
//!
//! The cases come from a fixed seed, so that two runs are alike. `PROPTEST_CASES` asks for
//! more of them and `PROPTEST_RNG_SEED` for others. A case that fails is shrunk and kept
//! beside the test file, in one named `*.regressions`, and tried first from then on.

use std::env;
use std::sync::atomic::{AtomicU64, Ordering};

use proptest::strategy::Strategy;
use proptest::test_runner::{
    Config, FileFailurePersistence, RngSeed, TestCaseResult, TestError, TestRunner,
};

/// Checks a property of a test in `file`; `cases` unless more are asked for.
pub fn check<S: Strategy>(
    file: &'static str,
    name: &'static str,
    cases: u32,
    strategy: &S,
    property: impl Fn(S::Value) -> TestCaseResult,
) -> u64 {
    let mut config = Config {
        source_file: Some(file),
        test_name: Some(name),
        failure_persistence: Some(Box::new(FileFailurePersistence::WithSource("regressions"))),
        ..Config::default()
    };
    if env::var_os("PROPTEST_CASES").is_none() {
        config.cases = cases;
    }
    if env::var_os("PROPTEST_RNG_SEED").is_none() {
        config.rng_seed = RngSeed::Fixed(1);
    }
    let ran = AtomicU64::new(0);
    let outcome = TestRunner::new(config).run(strategy, |value| {
        ran.fetch_add(1, Ordering::Relaxed);
        property(value)
    });
    match outcome {
        Ok(()) => ran.into_inner(),
        Err(TestError::Fail(reason, value)) => panic!("{name}: {reason}\n{value:#?}"),
        Err(TestError::Abort(reason)) => panic!("{name}: {reason}"),
    }
}

/// A number that cases add to.
#[derive(Default)]
pub struct Tally(AtomicU64);

impl Tally {
    /// Nothing yet.
    pub const fn new() -> Tally {
        Tally(AtomicU64::new(0))
    }

    /// Adds.
    pub fn add(&self, n: usize) {
        self.0.fetch_add(n as u64, Ordering::Relaxed);
    }

    /// The sum.
    pub fn sum(&self) -> u64 {
        self.0.load(Ordering::Relaxed)
    }
}
