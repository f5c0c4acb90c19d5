//! What ends the program early, and with which exit code.

use std::fmt;
use std::io;
use std::process::ExitCode;

/// The end of a command that did not do what was asked.
#[derive(Debug)]
pub(crate) enum Failure {
    /// Something the user can mend: exit code 2.
    User(String),
    /// Something the world did: exit code 1.
    World(String),
    /// The reader of our output went away, which is no fault: exit code 0.
    OutputClosed,
    /// Ended by this signal; the exit code is 128 plus its number, as shells expect.
    Signal(i32),
    /// A panic, which the panic hook has told: the exit code of a Rust program that panicked.
    Fault,
}

impl Failure {
    /// A mistake in what the user asked for.
    pub(crate) fn user(message: impl fmt::Display) -> Self {
        Self::User(message.to_string())
    }

    /// A fault outside the program and its user.
    pub(crate) fn world(message: impl fmt::Display) -> Self {
        Self::World(message.to_string())
    }

    /// The code to exit with.
    pub(crate) fn exit_code(&self) -> ExitCode {
        match self {
            Self::User(_) => ExitCode::from(2),
            Self::World(_) => ExitCode::FAILURE,
            Self::OutputClosed => ExitCode::SUCCESS,
            Self::Fault => ExitCode::from(101),
            Self::Signal(number) => ExitCode::from(u8::try_from(128 + number).unwrap_or(1)),
        }
    }

    /// The sentence for standard error, if there is something to say.
    pub(crate) fn message(&self) -> Option<&str> {
        match self {
            Self::User(message) | Self::World(message) => Some(message),
            Self::OutputClosed | Self::Signal(_) | Self::Fault => None,
        }
    }
}

impl From<io::Error> for Failure {
    /// Errors of writing our own output; other I/O errors are put into words where they happen.
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            Self::OutputClosed
        } else {
            Self::World(format!("cannot write the output: {error}"))
        }
    }
}
