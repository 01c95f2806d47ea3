//! Random cases that once failed are kept beside the tests, and tried first from then on.

use proptest::prelude::ProptestConfig;
use proptest::test_runner::FileFailurePersistence;

/// So many cases of the laws in the test of that name.
pub fn cases(of: &str, cases: u32) -> ProptestConfig {
    // The runner wants a name that lives as long as it; there is one for each test.
    let file = Box::leak(format!("tests/regressions/{of}.txt").into_boxed_str());
    ProptestConfig {
        cases,
        failure_persistence: Some(Box::new(FileFailurePersistence::Direct(file))),
        ..ProptestConfig::default()
    }
}
