//! The `presolder` program: hands the arguments to [`presolder::command_line`] and exits with its code.

fn main() -> std::process::ExitCode {
    presolder::command_line::run(std::env::args_os().collect())
}
