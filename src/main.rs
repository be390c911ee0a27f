//! The `presolder` program: hands the arguments to [`presolder::command_line`] and exits with its code.

fn main() -> std::process::ExitCode {
    let window = presolder::plugin::standalone::open;
    presolder::command_line::run(std::env::args_os().collect(), window)
}
