use super::Failure;
use super::args::ShareArgs;
use super::read;
use super::said::{make_folder, open, print_text, write_file};
use crate::reading::Params;
use crate::share;

pub(super) fn run(args: &ShareArgs) -> Result<(), Failure> {
    let open = open(&args.book)?;
    let wanted = args.permission.trim().to_lowercase();
    let found =
        open.book().permissions().values().find(|p| p.name.trim().to_lowercase() == wanted || p.uid.to_string() == wanted);
    let permission = found.ok_or_else(|| {
        let names: Vec<&str> = open.book().permissions().values().map(|p| p.name.as_str()).collect();
        Failure::input(format!(
            "there is no permission \"{}\" in the book; it has {}",
            args.permission,
            if names.is_empty() { "none".to_owned() } else { names.join(", ") }
        ))
    })?;
    make_folder(&args.out)?;
    let cut = share::cut_to(open.book(), permission).map_err(Failure::input)?;
    let (setting, reading) = read::read(&cut.book, permission.beach, &Params::default())?;
    let mut written = Vec::new();
    for (name, bytes) in share::open_files(&cut.book, &setting, &reading).map_err(Failure::output)? {
        write_file(&args.out.join(name), &bytes)?;
        written.push(name);
    }
    let mut report = share::report(&cut.book, &setting, &reading, jiff::Timestamp::now());
    report.opening.extend(cut.said.iter().cloned());
    write_file(&args.out.join("report.html"), report.html().as_bytes())?;
    written.push("report.html");
    let mut text: String = cut.said.iter().map(|s| format!("{s}\n")).collect();
    text += &format!("Wrote into {}: {}\n", args.out.display(), written.join(", "));
    print_text(&text)
}
