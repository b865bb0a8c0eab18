//! Settings: what is said on the command line, in the environment, or in one file. They are defined once, as the arguments that have
//! a variable; the file's lines are such variables, and their table is written from the definition.

use std::{
    collections::BTreeSet,
    ffi::{OsStr, OsString},
    io::Read as _,
    os::unix::process::CommandExt as _,
    path::Path,
    process,
};

use anyhow::{Context as _, bail};
use clap::{Arg, ArgAction, Command, CommandFactory as _, Parser as _};

use super::Arguments;

/// The variable that names the file, and its argument.
const FILE: (&str, &str) = ("FULLSET_SETTINGS", "--settings");
/// Says to the process with the file's variables which file was read.
const READ: &str = "FULLSET_SETTINGS_READ";
/// The largest file, in bytes.
const LARGEST: u64 = 65_536;
/// Variables that libraries read, by how they begin; the file may hold them too.
const OTHERS: [(&str, &str); 3] = [
    ("AWS_", "the store of photos, where it is an `s3://` one"),
    (
        "PG",
        "the connection to PostgreSQL, where its address does not say: `PGPASSFILE`, `PGSSLROOTCERT`",
    ),
    ("RUST_LOG", "what is logged: `warn,fullset=info` unless said"),
];

impl Arguments {
    /// Reads the command line, the environment and the settings file: the first of them that says something counts.
    pub fn read() -> anyhow::Result<Self> {
        let words: Vec<OsString> = std::env::args_os().collect();
        if let Some(file) = named(&words).filter(|file| std::env::var_os(READ).as_ref() != Some(file)) {
            bail!(again_with(&file, &words)?);
        }
        let root = Self::command();
        warn_of_slips(&known(&root));
        Ok(Self::parse_from(behind_command(&root, words)))
    }
}

/// The settings file that is named, if one is.
fn named(words: &[OsString]) -> Option<OsString> {
    let said = words.iter().enumerate().find_map(|(at, word)| {
        let rest = word.to_str()?.strip_prefix(FILE.1)?;
        match rest.strip_prefix('=') {
            Some(file) => Some(OsString::from(file)),
            None => rest.is_empty().then(|| words.get(at + 1).cloned()).flatten(),
        }
    });
    said.or_else(|| std::env::var_os(FILE.0)).filter(|file| !file.is_empty())
}

/// Starts this program again in the same process, with the file's variables where the environment does not have them. Answers only
/// where that fails. Libraries read some of them, so they have to stand in the environment itself.
fn again_with(file: &OsStr, words: &[OsString]) -> anyhow::Result<String> {
    let mut text = String::new();
    let opened = std::fs::File::open(Path::new(file)).with_context(|| format!("the settings file {} cannot be read", file.display()))?;
    opened
        .take(LARGEST + 1)
        .read_to_string(&mut text)
        .with_context(|| format!("the settings file {} is not text", file.display()))?;
    if text.len() as u64 > LARGEST {
        bail!("the settings file {} is larger than {LARGEST} bytes", file.display());
    }
    let known = known(&Arguments::command());
    let settings = lines(&text)
        .and_then(|settings| checked(settings, &known))
        .map_err(|(line, words)| anyhow::anyhow!("{}, line {line}: {words}", file.display()))?;
    let missing = settings.into_iter().filter(|(name, _)| std::env::var_os(name).is_none());
    let own = std::env::current_exe().context("the program does not find itself")?;
    let mut again = process::Command::new(own);
    if let Some(name) = words.first() {
        again.arg0(name);
    }
    let failed = again.args(words.iter().skip(1)).envs(missing).env(READ, file).exec();
    Ok(format!("the program could not be started with its settings: {failed}"))
}

/// What is wrong, and in which line.
type Wrong = (usize, String);

/// A setting's line, name and value.
type Line = (usize, String, String);

/// Reads lines such as `KEY=value`, as systemd reads an `EnvironmentFile`. What systemd would take otherwise than it looks is refused.
fn lines(text: &str) -> Result<Vec<Line>, Wrong> {
    let mut all: Vec<Line> = Vec::new();
    for (line, text) in text.lines().enumerate().map(|(at, text)| (at + 1, text.trim())) {
        if text.is_empty() || text.starts_with(['#', ';']) {
            continue;
        }
        let wrong = |words: &str| (line, words.to_owned());
        let (name, value) = text.split_once('=').ok_or_else(|| wrong("write NAME=value; a remark begins with #"))?;
        let (name, value) = (name.trim(), value.trim());
        let name = name.strip_prefix("export ").map_or(name, str::trim);
        let quote = value.chars().next().filter(|sign| matches!(sign, '"' | '\''));
        let bare = match quote {
            Some(quote) => {
                let rest = value.get(1..).and_then(|rest| rest.strip_suffix(quote));
                rest.filter(|rest| !rest.contains(quote))
                    .ok_or_else(|| wrong("the value begins with a quotation mark and has to end with it"))?
            }
            None => value,
        };
        if bare.contains('\\') && quote != Some('\'') {
            return Err(wrong("a backslash stands for itself only between single quotation marks: NAME='value'"));
        }
        if bare.is_empty() {
            return Err(wrong(&format!("{name} has no value: give it one, or take the line out")));
        }
        if let Some((first, ..)) = all.iter().find(|(_, known, _)| known == name) {
            return Err(wrong(&format!("{name} is said already in line {first}")));
        }
        all.push((line, name.to_owned(), bare.to_owned()));
    }
    Ok(all)
}

/// Refuses what is no setting.
fn checked(settings: Vec<Line>, known: &BTreeSet<String>) -> Result<Vec<(String, String)>, Wrong> {
    for (line, name, _) in &settings {
        if name == FILE.0 {
            return Err((*line, "a settings file names no other".to_owned()));
        }
        if !known.contains(name) && !OTHERS.iter().any(|(begins, _)| name.starts_with(begins)) {
            return Err((*line, no_such(name, known)));
        }
    }
    Ok(settings.into_iter().map(|(_, name, value)| (name, value)).collect())
}

fn no_such(name: &str, known: &BTreeSet<String>) -> String {
    let near = known
        .iter()
        .max_by(|one, two| strsim::jaro_winkler(one, name).total_cmp(&strsim::jaro_winkler(two, name)));
    let near = near.map_or_else(String::new, |near| format!("; the nearest is {near}"));
    format!("there is no setting {name}{near} (fullset settings prints all)")
}

/// Says which variables of the environment look like settings and are none: systemd puts a file's lines there without a look at them.
fn warn_of_slips(known: &BTreeSet<String>) {
    for (name, _) in std::env::vars_os() {
        let name = name.to_string_lossy();
        // Those of the project's own tests are theirs.
        let ours = name.starts_with("FULLSET_") && !name.starts_with("FULLSET_TEST_") && name != READ;
        if ours && !known.contains(name.as_ref()) {
            eprintln!("fullset: {}", no_such(&name, known));
        }
    }
}

/// All commands below one, with their names as they are typed.
fn commands<'a>(command: &'a Command, name: &str) -> Vec<(String, &'a Command)> {
    let below = command
        .get_subcommands()
        .flat_map(|below| commands(below, format!("{name} {}", below.get_name()).trim()));
    std::iter::once((name.to_owned(), command)).chain(below).collect()
}

/// An argument's variable.
fn variable(argument: &Arg) -> Option<String> {
    argument.get_env().map(|name| name.to_string_lossy().into_owned())
}

/// The variables of all settings.
fn known(root: &Command) -> BTreeSet<String> {
    let all = commands(root, "");
    all.iter().flat_map(|(_, command)| command.get_arguments()).filter_map(variable).collect()
}

/// Puts what stands before the command behind it, where clap looks for it.
fn behind_command(root: &Command, words: Vec<OsString>) -> Vec<OsString> {
    let all = commands(root, "");
    let argument = |word: &OsString| {
        let long = word.to_str()?.strip_prefix("--")?;
        let name = long.split_once('=').map_or(long, |(name, _)| name);
        let found = all
            .iter()
            .flat_map(|(_, command)| command.get_arguments())
            .find(|argument| argument.get_long() == Some(name))?;
        Some(found.get_action().takes_values() && !long.contains('='))
    };
    let mut words = words.into_iter().peekable();
    let mut ordered: Vec<OsString> = words.next().into_iter().collect();
    let mut moved = Vec::new();
    while let Some(has_value) = words.peek().and_then(argument) {
        moved.extend(words.by_ref().take(1 + usize::from(has_value)));
    }
    let mut command = root;
    while let Some(below) = words.peek().and_then(|word| command.find_subcommand(word)) {
        command = below;
        ordered.extend(words.next());
    }
    ordered.extend(moved);
    ordered.extend(words);
    ordered
}

/// Print all settings as a table
#[derive(Debug, clap::Args)]
pub struct Settings {}

impl Settings {
    pub fn run(self) -> anyhow::Result<()> {
        println!("{}", table(&Arguments::command()));
        Ok(())
    }
}

/// All settings in the order of the commands, each with its variable, its default, the commands that take it, and what it does.
fn table(root: &Command) -> String {
    let all = commands(root, "");
    let mut seen: Vec<(String, &Arg, Vec<String>)> = Vec::new();
    for (name, command) in &all {
        for argument in command.get_arguments() {
            let Some(variable) = variable(argument) else { continue };
            let taken = if name.is_empty() { "all" } else { name };
            match seen.iter_mut().find(|(known, ..)| *known == variable) {
                Some((.., takers)) => takers.push(taken.to_owned()),
                None => seen.push((variable, argument, vec![taken.to_owned()])),
            }
        }
    }
    let rows = seen.iter().map(|(variable, argument, takers)| row(variable, argument, takers));
    let others = OTHERS.map(|(begins, what)| format!("| `{begins}{}` | {what} |", if begins.ends_with("LOG") { "" } else { "..." }));
    format!(
        "# Settings\n\n\
         Each is said on the command line, before or after the command, or in the environment, or in one file of lines such as\n\
         `FULLSET_LISTEN=127.0.0.1:8080`, which `--settings FILE` or `FULLSET_SETTINGS` names. What stands first of these counts. The file\n\
         may be systemd's `EnvironmentFile` as well. A switch is `true` or `false` there; what may be said again has commas between.\n\
         `fullset settings` prints this table.\n\n\
         | setting | variable | unless said | of | what it does |\n| --- | --- | --- | --- | --- |\n{}\n\n\
         The file may also hold what libraries read:\n\n| variable | what it is for |\n| --- | --- |\n{}",
        rows.collect::<Vec<_>>().join("\n"),
        others.join("\n")
    )
}

fn row(variable: &str, argument: &Arg, takers: &[String]) -> String {
    let long = argument.get_long().unwrap_or_default();
    let value = argument
        .get_value_names()
        .and_then(|names| names.first())
        .map_or_else(String::new, |name| format!(" {name}"));
    let value = if argument.get_action().takes_values() { value } else { String::new() };
    let defaults: Vec<String> = argument.get_default_values().iter().map(|value| value.to_string_lossy().into_owned()).collect();
    let default = match argument.get_action() {
        ArgAction::SetTrue => "`false`".to_owned(),
        _ if defaults.is_empty() => String::new(),
        _ => format!("`{}`", defaults.join(",")),
    };
    let help = argument.get_help().map(ToString::to_string).unwrap_or_default().replace('|', "\\|");
    let takers = takers
        .iter()
        .map(|name| format!("`{name}`"))
        .collect::<Vec<_>>()
        .join(", ")
        .replace("`all`", "all");
    format!("| `--{long}{value}` | `{variable}` | {default} | {takers} | {help} |")
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;

    #[test]
    fn a_file_reads_as_systemd_reads_it() {
        let read = |text: &str| lines(text).map(|all| all.into_iter().map(|(_, name, value)| (name, value)).collect::<Vec<_>>());
        let pair = |name: &str, value: &str| (name.to_owned(), value.to_owned());
        let text = "# a remark\n; another\n\nA=1\n B = two words \nC=\"quoted # no remark\"\nD='a\\b \"c\"'\nE=x=y#z\n";
        let wanted = [
            pair("A", "1"),
            pair("B", "two words"),
            pair("C", "quoted # no remark"),
            pair("D", "a\\b \"c\""),
            pair("E", "x=y#z"),
        ];
        assert_eq!(read(text), Ok(wanted.to_vec()));
        for (bad, line) in [
            ("A", 1),
            ("A=\n", 1),
            ("A=1\nA=2", 2),
            ("A=\"x", 1),
            ("A=\"x\" y", 1),
            ("\n\nA=b\\c", 3),
            ("A=\"b\\\"c\"", 1),
            ("A=''", 1),
        ] {
            assert_eq!(read(bad).map_err(|(at, _)| at), Err(line), "{bad}");
        }
    }

    #[test]
    fn a_slip_in_a_name_is_told_with_what_was_meant() {
        let known = known(&Arguments::command());
        let check = |name: &str| checked(vec![(3, name.to_owned(), "x".to_owned())], &known);
        assert!(check("FULLSET_DATABASE").is_ok() && check("AWS_ENDPOINT").is_ok() && check("PGPASSFILE").is_ok());
        for (slip, meant) in [
            ("FULLSET_DATABSE", "FULLSET_DATABASE"),
            ("FULLSET_LISTENS", "FULLSET_LISTEN"),
            ("FULLSET_TLS_NAME", "FULLSET_TLS_NAMES"),
        ] {
            let (line, words) = check(slip).expect_err("a slip");
            assert!(line == 3 && words.contains(&format!("the nearest is {meant} ")), "{words}");
        }
        assert!(check("FULLSET_SETTINGS").is_err() && check("PATH").is_err());
    }

    #[test]
    fn what_stands_before_the_command_is_put_behind_it() {
        let ordered = |text: &str| {
            let words = text.split(' ').map(OsString::from).collect();
            let ordered = behind_command(&Arguments::command(), words);
            ordered.iter().map(|word| word.to_string_lossy().into_owned()).collect::<Vec<_>>().join(" ")
        };
        for (said, meant) in [
            ("fullset --database sqlite:x serve --listen y", "fullset serve --database sqlite:x --listen y"),
            ("fullset --behind-tls --readers=3 serve", "fullset serve --behind-tls --readers=3"),
            ("fullset --database x member add --name serve", "fullset member add --database x --name serve"),
            ("fullset serve --database x", "fullset serve --database x"),
            ("fullset --nonsense serve", "fullset --nonsense serve"),
            ("fullset --version", "fullset --version"),
        ] {
            assert_eq!(ordered(said), meant);
        }
    }

    #[test]
    fn no_two_settings_share_a_variable_and_differ() {
        let root = Arguments::command();
        let mut seen: BTreeMap<String, String> = BTreeMap::new();
        for (_, command) in commands(&root, "") {
            for argument in command.get_arguments().filter(|argument| argument.get_env().is_some()) {
                let (name, long) = (variable(argument).unwrap_or_default(), argument.get_long().unwrap_or_default().to_owned());
                assert!(name.starts_with("FULLSET_"), "{name}");
                assert_eq!(seen.entry(name).or_insert_with(|| long.clone()), &long);
            }
        }
        assert!(seen.len() > 15, "{seen:?}");
    }
}
