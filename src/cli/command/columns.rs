//! `columns`: which column plays which role, and why.

use std::path::Path;

use teleassay::profile::{FILE_NAME, Profile};
use teleassay::report::{self, Understood};
use teleassay::source::Source;

use crate::cli::args::ColumnsArgs;
use crate::cli::audit::{checks, open_source};
use crate::cli::error::CliError;
use crate::cli::output::{Gate, spare, to_file, to_stdout};
use crate::cli::settings::DataSettings;

/// Runs the command.
pub fn run(args: &ColumnsArgs) -> Result<Gate, CliError> {
    let settings = DataSettings::new(&args.data)?;
    let source = open_source(&settings)?;
    if let Some(path) = &args.write {
        // The profile that was read may be replaced by what became of it; recordings may not.
        spare([path], source.inputs(), settings.profile.declared.urdf.as_slice())?;
        if !args.force && path.symlink_metadata().is_ok() {
            return Err(CliError::input(format!("{} is there already", path.display()))
                .with_hint("write to another file, or add --force"));
        }
        write(path, &settings.profile, &*source)?;
    }
    let next = format!("teleassay columns{} --write {FILE_NAME}", settings.pasted);
    let understood = Understood {
        rig: source.rig(),
        roles: source.roles(),
        inputs: source.inputs(),
        unread: source.unread(),
        episodes: source.episodes(),
        profile: settings.profile_path.as_deref(),
        next: &next,
    };
    to_stdout(|out| Ok(report::columns(&understood, out)?))?;
    Ok(if source.unread().is_empty() { Gate::Open } else { Gate::Closed })
}

/// Writes what was understood, with the limits and parameters of the profile that was in force.
fn write(path: &Path, profile: &Profile, source: &dyn Source) -> Result<(), CliError> {
    let profile = profile.over(source.rig(), source.roles());
    let text = profile.to_toml(&checks());
    to_file(path, |out| std::io::Write::write_all(out, text.as_bytes()))
}
