//! Two examples of each command, as its help shows them.

/// `plan`.
pub const PLAN: &str = "\
Examples:
  yardless plan --out plan.json
  yardless plan --from 2026-12-07 --weeks 4 --seconds 60 --out plan.json";
/// `replan`.
pub const REPLAN: &str = "\
Examples:
  yardless replan --out next.json
  yardless replan --now \"2026-12-09 am\" --choices 3 --choice 2 --out next.json";
/// `week`.
pub const WEEK: &str = "\
Examples:
  yardless week plan.json --week 2026-12-07
  yardless week plan.json --crew \"North crew\"";
/// `load`.
pub const LOAD: &str = "\
Examples:
  yardless load plan.json --week 2026-12-07
  yardless load plan.json --crew \"North crew\"";
/// `where`.
pub const WHERE: &str = "\
Examples:
  yardless where \"foam gun 1\"
  yardless where saw-2 --at \"2026-12-09 pm\" --plan plan.json";
/// `check`.
pub const CHECK: &str = "\
Examples:
  yardless check plan.json
  yardless check next.json --kept plan.json --json";
/// `free`.
pub const FREE: &str = "\
Examples:
  yardless free \"blowing machine\" --count 2
  yardless free lift --for 4 --at \"Village hall\"";
/// `offer`.
pub const OFFER: &str = "\
Examples:
  yardless offer birch-attic
  yardless offer --job new-job.json --rows 3";
/// `why`.
pub const WHY: &str = "\
Examples:
  yardless why birch-attic
  yardless why \"Alder attic\" --sooner 2026-12-14";
/// `worth`.
pub const WORTH: &str = "\
Examples:
  yardless worth
  yardless worth --rows 3 --seconds 60";
/// `chance`.
pub const CHANCE: &str = "\
Examples:
  yardless chance
  yardless chance --seasons 1000 --json";
/// `matters`.
pub const MATTERS: &str = "\
Examples:
  yardless matters
  yardless matters --plan plan.json --write";
/// `storm`.
pub const STORM: &str = "\
Examples:
  yardless storm \"2026-12-09 pm/2026-12-11\" --gust 45 --at hill-farm
  yardless storm 2026-12-09 --clear";
/// `undo`.
pub const UNDO: &str = "\
Examples:
  yardless undo
  yardless undo --list";
/// `weather`.
pub const WEATHER: &str = "\
Examples:
  yardless weather --alerts alerts.json
  yardless weather --forecast grid.json --at \"Hill Farm\" --write";
/// `serve`.
#[cfg(feature = "service")]
pub const SERVE: &str = "\
Examples:
  yardless serve
  yardless serve --db shop.db --bind 127.0.0.1:8080 --link";
/// `import`.
#[cfg(feature = "service")]
pub const IMPORT: &str = "\
Examples:
  yardless import --book book.json
  yardless import --db shop.db --plan plan.json";
/// `export`.
#[cfg(feature = "service")]
pub const EXPORT: &str = "\
Examples:
  yardless export copy
  yardless export --db shop.db monday";
/// `backup`.
#[cfg(feature = "service")]
pub const BACKUP: &str = "\
Examples:
  yardless backup monday.db
  yardless backup --db shop.db monday.db";
/// `new`.
pub const NEW: &str = "\
Examples:
  yardless new book.json
  yardless new winter.json";
/// `schema`.
pub const SCHEMA: &str = "\
Examples:
  yardless schema
  yardless schema -v";
/// `completions`.
pub const COMPLETIONS: &str = "\
Examples:
  yardless completions bash
  yardless completions zsh";
