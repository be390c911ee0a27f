//! An allocator that aborts where a test forbids allocating, and the proof that it does
//! (`assert_no_alloc` acts with debug assertions, which the test profile has).

use nice_assert_no_alloc::{AllocDisabler, assert_no_alloc};

#[global_allocator]
static ALLOCATOR: AllocDisabler = AllocDisabler;

#[test]
#[ignore = "aborts; run by the test below in a process of its own"]
fn allocates_on_purpose() {
    assert_no_alloc(|| {
        std::hint::black_box(vec![1]);
    });
}

#[test]
fn an_allocation_would_be_noticed() {
    let itself = std::env::current_exe().expect("this test's path");
    let output = std::process::Command::new(itself)
        .args([
            "--exact",
            "forbids_allocation::allocates_on_purpose",
            "--ignored",
        ])
        .output()
        .expect("this test runs");
    assert_eq!(output.status.success(), !cfg!(debug_assertions));
}
