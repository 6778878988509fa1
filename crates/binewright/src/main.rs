//! Starts Binewright: the window, or one command for a script.

mod window;

use commands::Task;
use std::io::{self, Write as _};
use std::process::ExitCode;

fn main() -> ExitCode {
    let task = match commands::parse(std::env::args_os()) {
        Ok(task) => task,
        Err(error) => {
            // Help and version are no errors; clap knows which goes where. A closed pipe is nobody's fault.
            let printed = error.print().and_then(|()| io::stdout().flush());
            let unread = |error: &io::Error| error.kind() == io::ErrorKind::BrokenPipe;
            let failed = printed.is_err_and(|error| !unread(&error));
            return ExitCode::from(if error.use_stderr() || failed { 2 } else { 0 });
        }
    };
    let (mut out, mut err) = (io::stdout().lock(), io::stderr().lock());
    let code = match task {
        Task::Window(start) => match window::open(start) {
            Ok(()) => 0,
            Err(sentence) => {
                let _ = writeln!(err, "binewright: {sentence}");
                2
            }
        },
        Task::Script(script) => commands::run(script, commands::today(), &mut out, &mut err),
    };
    ExitCode::from(code)
}
