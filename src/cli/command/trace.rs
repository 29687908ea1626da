//! `trace`: one episode, leader and follower joint by joint, flagged spans marked.

use teleassay::model::Episode;
use teleassay::profile::nearest;
use teleassay::report::{self, Traced, quote};

use crate::cli::args::TraceArgs;
use crate::cli::audit::read_episode;
use crate::cli::error::CliError;
use crate::cli::output::{Gate, ascii, spare, to_file, to_stdout, width};
use crate::cli::settings::{DataSettings, chosen};

/// Runs the command.
pub fn run(args: &TraceArgs) -> Result<Gate, CliError> {
    let data = DataSettings::new(&args.data)?;
    let checks = chosen(&data.profile, &args.only, &args.skip)?;
    let (source, episode, card) = read_episode(&data, &checks, &args.episode)?;
    let id = quote(&args.episode);
    let traced = Traced {
        joints: joints(&episode, &args.joint)?,
        episode: &episode,
        card: &card,
        inputs: source.inputs(),
        window_s: (args.from, args.to),
        width: width(),
        ascii: args.ascii || ascii(),
        command: &format!("teleassay trace{} --episode {id}", data.pasted),
    };
    if traced.is_empty() {
        let what = format!("episode \"{}\" has no frame in that time", args.episode);
        let hint =
            format!("--from and --to are seconds from its start; {:.2} s long", card.duration_s);
        return Err(CliError::input(what).with_hint(hint));
    }
    let outs = [&args.out_svg, &args.out_html].into_iter().flatten();
    spare(outs, source.inputs(), &data.files())?;
    if let Some(path) = &args.out_svg {
        to_file(path, |out| report::trace_svg(&traced, out))?;
    }
    if let Some(path) = &args.out_html {
        to_file(path, |out| report::html::trace_html(&traced, out))?;
    }
    to_stdout(|out| {
        Ok(if args.plain {
            report::trace_records(&traced, out)
        } else {
            report::trace(&traced, out)
        }?)
    })?;
    Ok(Gate::Open)
}

/// The joints to draw: those named, in the order of the rig, else all.
fn joints(episode: &Episode, named: &[String]) -> Result<Vec<usize>, CliError> {
    let names: Vec<&str> = episode.rig.joints.iter().map(|joint| joint.name.as_str()).collect();
    for name in named {
        if !names.contains(&name.as_str()) {
            let near = nearest(name, names.iter().copied());
            let hint = near.map_or_else(
                || format!("its joints: {}", names.join(", ")),
                |near| format!("did you mean \"{near}\"?"),
            );
            return Err(CliError::input(format!("there is no joint \"{name}\"")).with_hint(hint));
        }
    }
    let wanted = |joint: &usize| named.is_empty() || named.iter().any(|name| name == names[*joint]);
    Ok((0..episode.state.joints().min(names.len())).filter(wanted).collect())
}
