//! `yardless where`: where a thing is.

use std::path::Path;

use yardless_edit::trouble::{Noun, Trouble};
use yardless_edit::{book_file, named, plan_file};

use crate::answer::Answer;
use crate::args::WhereArgs;

/// Says it for a half-day of the plan.
pub fn run(book: &Path, args: &WhereArgs) -> Result<Answer, Trouble> {
    let file = book_file::read(book)?;
    let path = args.plan.clone().unwrap_or_else(|| book.with_file_name("plan.json"));
    let stored = plan_file::read(&path)?;
    let things = &file.written.book.things;
    let all: Vec<(&str, &str)> = things.iter().map(|thing| (thing.id.as_str(), thing.called())).collect();
    let thing = named::position(Noun::Thing, &args.thing, &all)?;
    let at = stored.now(&file, args.at)?;
    let shop = stored.shop(&file, None)?;
    let h = shop.horizon.index(at).unwrap_or(shop.now);
    let mut answer = Answer::new(if args.json {
        format!("{:#}\n", yardless_view::where_json(&shop, &stored.plan, thing, h))
    } else {
        yardless_view::whereabouts(&shop, &stored.plan, thing, h)
    });
    answer.notes.extend(stored.other_book(&path, &file.written.digest));
    Ok(answer)
}
