//! The `presolder` program: hands the arguments to [`presolder::command_line`] and exits with its code.

#[cfg(feature = "plugin")]
use presolder::plugin::standalone::open as window;

/// A program without the plugin has no window either.
#[cfg(not(feature = "plugin"))]
fn window(
    _: presolder::requests::opening::Opening,
) -> Result<(), presolder::requests::opening::NoDisplay> {
    Err(presolder::requests::opening::NoDisplay(
        "This program was built without its window; build it with default features.".into(),
    ))
}

fn main() -> std::process::ExitCode {
    presolder::command_line::run(std::env::args_os().collect(), window)
}
