//! The command line: what there is to say, and what happens then.

use clap::error::ErrorKind;
use clap::{Parser, Subcommand};

use crate::shop::Everywhere;
use crate::stop::Stop;
use crate::{backup, car, coating, colour, demo, forecast, people, schedule, serve};

/// A record of what was found on a stripped bodyshell, by zone; colour by angle; coats; a printed dossier.
#[derive(Debug, Parser)]
#[command(name = "guidecoat", version, disable_help_subcommand = true)]
pub(crate) struct Line {
    #[command(flatten)]
    everywhere: Everywhere,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Load the invented car into a database of its own and serve it.
    Demo(demo::Demo),
    /// Serve the pages.
    Serve(serve::Serve),
    /// Who works here.
    #[command(subcommand)]
    People(people::People),
    /// Cars and their records.
    #[command(subcommand)]
    Car(car::Car),
    /// Copy the whole shop into one file, while it runs.
    Backup(backup::Backup),
    /// Bring a shop back from a copy, into an empty database.
    Restore(backup::Restore),
    /// Colour from spectra.
    #[command(subcommand)]
    Colour(colour::Colour),
    /// Climate, litres and film.
    #[command(subcommand)]
    Coating(coating::Coating),
    /// What a shell probably hides, and the hours it may take.
    #[command(subcommand)]
    Forecast(forecast::Forecast),
    /// Hours of several tasks together.
    #[command(subcommand)]
    Schedule(schedule::Schedule),
}

/// Reads the command line and does what it says.
///
/// # Errors
/// Whatever ended the command, for [`std::process::ExitCode`].
pub(crate) fn run() -> Result<(), Stop> {
    let line = match Line::try_parse() {
        Ok(line) => line,
        Err(e) if matches!(e.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) => {
            return e.print().map_err(|e| Stop::failed(format!("standard output: {e}")));
        }
        Err(e) => return Err(misread(&e)),
    };
    let everywhere = &line.everywhere;
    match line.command {
        Command::Demo(command) => command.run(everywhere),
        Command::Serve(command) => command.run(everywhere),
        Command::People(command) => command.run(everywhere),
        Command::Car(command) => command.run(everywhere),
        Command::Backup(command) => command.run(everywhere),
        Command::Restore(command) => command.run(everywhere),
        Command::Colour(command) => command.run(everywhere),
        Command::Coating(command) => command.run(everywhere),
        Command::Forecast(command) => command.run(everywhere),
        Command::Schedule(command) => command.run(everywhere),
    }
}

/// The complaint about a line that cannot be read, without the usage that follows it.
fn misread(error: &clap::Error) -> Stop {
    if error.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand {
        return Stop::input("a command is missing: guidecoat --help names them");
    }
    let told = error.to_string();
    let told = told.split("\n\nUsage:").next().unwrap_or_default();
    let told = told.split("\n\nFor more information").next().unwrap_or_default();
    Stop::input(told.trim_start_matches("error: "))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use clap::{Command, CommandFactory};

    use super::Line;

    const BOOK: &str = include_str!("../../../docs/cli.md");

    #[test]
    fn the_command_line_holds_together() {
        Line::command().debug_assert();
    }

    /// Every command by its full name, such as `car export`, with its own flags.
    fn leaves(command: &Command, name: &str, out: &mut Vec<(String, BTreeSet<String>)>) {
        let mut subs = command.get_subcommands().peekable();
        if subs.peek().is_none() {
            let flags = command.get_arguments().filter(|a| !a.is_global_set()).filter_map(|a| a.get_long());
            let flags = flags.filter(|f| *f != "help" && *f != "version").map(|f| format!("--{f}")).collect();
            out.push((name.to_string(), flags));
        }
        for sub in subs {
            leaves(sub, format!("{name} {}", sub.get_name()).trim(), out);
        }
    }

    fn tree() -> Vec<(String, BTreeSet<String>)> {
        let mut out = Vec::new();
        leaves(&Line::command(), "", &mut out);
        out
    }

    fn global() -> BTreeSet<String> {
        let line = Line::command();
        let flags = line.get_arguments().filter(|a| a.is_global_set()).filter_map(|a| a.get_long());
        flags.map(|f| format!("--{f}")).collect()
    }

    /// Every flag that a piece of the document names.
    fn flags(text: &str) -> BTreeSet<String> {
        let words = text.split(|c: char| !(c.is_ascii_alphanumeric() || c == '-'));
        let long = |w: &&str| w.starts_with("--") && w.len() > 3 && w.as_bytes().get(2) != Some(&b'-');
        words.filter(long).map(str::to_string).collect()
    }

    /// The document's sections: `## \`car export ...\`` and what stands under each.
    fn sections() -> Vec<(String, String)> {
        BOOK.split("\n## ")
            .skip(1)
            .filter_map(|section| {
                let (head, body) = section.split_once('\n')?;
                let line = head.strip_prefix('`')?.split('`').next()?;
                let name: Vec<&str> =
                    line.split(' ').take_while(|w| w.chars().all(|c| c.is_ascii_lowercase())).collect();
                Some((name.join(" "), format!("{head}\n{body}")))
            })
            .collect()
    }

    #[test]
    fn the_document_names_every_command_and_no_other() {
        let real: BTreeSet<String> = tree().into_iter().map(|(name, _)| name).collect();
        let told: BTreeSet<String> = sections().into_iter().map(|(name, _)| name).collect();
        assert_eq!(real, told);
    }

    #[test]
    fn the_document_names_every_flag_of_a_command_and_no_other() {
        for (name, real) in tree() {
            let (_, section) = sections().into_iter().find(|(n, _)| *n == name).unwrap_or_default();
            let told: BTreeSet<String> = flags(&section).difference(&global()).cloned().collect();
            assert_eq!(real, told, "{name}");
        }
    }

    #[test]
    fn the_document_names_every_flag_that_all_commands_take() {
        let preface = BOOK.split("\n## ").next().unwrap_or_default();
        let told: BTreeSet<String> = flags(preface).into_iter().filter(|f| f != "--help" && f != "--version").collect();
        assert_eq!(global(), told);
    }
}
