//! The command line of `journal`.

use clap::{Args, Subcommand};
use std::path::PathBuf;

/// Arguments of `journal`.
#[derive(Args, Debug)]
pub(crate) struct JournalArgs {
    /// What is done with it; without a word, what it holds is shown
    #[command(subcommand)]
    pub(crate) task: Option<JournalTask>,
}

/// What is done with the journal.
#[derive(Subcommand, Clone, Debug)]
pub(crate) enum JournalTask {
    /// Look it through for damage
    Check,
    /// Make a dated copy beside it; the last seven are kept
    Backup,
    /// Write everything in it, or what --who has practised, to standard output: one JSON object a line
    Export {
        /// Write tables (CSV) into this folder instead, a file for each
        #[arg(long, value_name = "FOLDER")]
        csv: Option<PathBuf>,
        /// Say what each table and column means, and stop
        #[arg(long)]
        columns: bool,
    },
    /// Write what changed in a month: of you as a page of Markdown or HTML, or of several players side by side
    Report {
        /// Journals, or exports of them (JSON lines), of other players; your own journal if not given
        #[arg(value_name = "FILE")]
        files: Vec<PathBuf>,
        /// Write a page for a browser and for paper into this file instead of Markdown to standard output
        #[arg(long, value_name = "FILE")]
        html: Option<PathBuf>,
        /// Write over a file that is there already
        #[arg(long, requires = "html")]
        force: bool,
        /// How many days are looked at, and set against as many before them
        #[arg(long, value_name = "N", default_value_t = 30, value_parser = clap::value_parser!(u32).range(1..=366))]
        days: u32,
    },
    /// Take in what an export wrote; what is here already is not doubled
    Import {
        /// Files of JSON lines
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
    },
    /// Forget what was practised in sessions that ended before a day, of all players or of --who; asks first
    Forget {
        /// The first day that is kept, such as 2026-01-31
        #[arg(long, value_name = "DATE")]
        before: String,
        /// Do not ask
        #[arg(long)]
        yes: bool,
    },
    /// Keep a remark about a day, or show what was remarked
    Remark {
        /// The remark; without one, all remarks about --who are shown
        text: Option<String>,
        /// The day that it is about, such as 2026-01-31; today if not given
        #[arg(long, value_name = "DATE")]
        day: Option<String>,
    },
    /// Put a copy in its place; what stands there is set aside
    Restore {
        /// The copy
        file: PathBuf,
    },
}
