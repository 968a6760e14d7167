//! What is wrong in a settings file, in a musician's words and with its line.

/// What TOML's reader says, as a musician would: not which type it expected, but what belongs there.
pub(super) fn in_plain_words(said: &str) -> String {
    let said = said.replace('\n', " ");
    // The reader of TOML says the first of a word without quotes that begins with t or f, the next of any other and of no value at all.
    let known = [
        ("invalid boolean", "a word stands in quotes"),
        ("string values must be quoted", "a word stands in quotes, and something has to stand after the ="),
        ("unclosed table", "the name of a table stands in brackets, such as [midi]"),
        ("duplicate key", "this stands here a second time"),
        ("wanted string or table", "a word in quotes belongs here"),
    ];
    if let Some((_, plain)) = known.iter().find(|(starts, _)| said.starts_with(starts)) {
        return (*plain).to_owned();
    }
    let unknown = said.strip_prefix("unknown field ").and_then(|rest| rest.split_once(", expected one of "));
    if let Some((field, known)) = unknown {
        return format!("{} is no setting here; there are {known}", field.trim_matches('`'));
    }
    let starts = ["invalid type: ", "invalid value: ", "unknown variant "];
    let rest = starts.into_iter().find_map(|start| said.strip_prefix(start));
    let Some((found, wanted)) = rest.and_then(|rest| rest.split_once(", expected ")) else { return said };
    let variant = said.starts_with("unknown variant ");
    let found = match found.find(['"', '`']) {
        Some(at) if variant => found[at..].replace('`', "\""),
        Some(at) => found[at..].trim_matches('`').to_owned(),
        None if found == "sequence" => "a list".to_owned(),
        None if found == "map" => "a table".to_owned(),
        None => found.to_owned(),
    };
    let table = |name: &str| format!("{name} is a table: write [{name}] on a line of its own");
    let wanted = match wanted.trim() {
        "struct MidiSettings" => return table("midi"),
        "struct RestSettings" => return table("rests"),
        "struct DaySettings" => return table("day"),
        "a sequence" => "a list",
        "u8" | "u16" | "u32" | "u64" | "i32" | "i64" => "a whole number",
        "f64" => "a number",
        "a boolean" => "true or false",
        "a string" | "string or table" => "a word in quotes",
        other if variant => &other.replace('`', "\""),
        other => other,
    };
    format!("{found} stands where {wanted} belongs")
}

/// Names a key of one of several tables of a name for [`with_line`]; the tables are counted from 0.
pub(super) fn one_of(table: &str, nth: usize, key: &str) -> String {
    format!("{table}[{nth}].{key}")
}

/// Puts the number of the line before a complaint that begins with a key of the settings, such as `midi.channel = 17`: the first
/// line with that key in a table of that name, or in that one of several tables ([`one_of`]), whose number is left out then. A
/// complaint without such a line stays as it is.
pub(super) fn with_line(text: &str, why: String) -> String {
    let (path, rest) = why.split_at(why.find(' ').unwrap_or(why.len()));
    let (table, key) = path.rsplit_once('.').unwrap_or(("", path));
    let numbered = table.strip_suffix(']').and_then(|table| table.split_once('['));
    let numbered = numbered.and_then(|(name, nth)| Some((name, nth.parse::<usize>().ok()?)));
    let (wanted, nth) = numbered.map_or((table, None), |(name, nth)| (name, Some(nth)));
    let (mut name, mut begun) = ("", 0);
    let line = text.lines().position(|line| {
        let line = line.trim();
        if line.starts_with('[') {
            name = line.split(']').next().unwrap_or_default().trim_matches(['[', ' ']);
            begun += usize::from(name == wanted);
        }
        let this = name == wanted && nth.is_none_or(|nth| begun == nth + 1);
        this && line.split('=').next().is_some_and(|name| name.trim() == key)
    });
    let why = if nth.is_some() { format!("{wanted}.{key}{rest}") } else { why };
    line.map_or(why.clone(), |line| format!("line {}: {why}", line + 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_type_of_a_programming_language_is_named() {
        assert_eq!(
            in_plain_words("invalid type: string \"two\", expected i64"),
            "\"two\" stands where a whole number belongs"
        );
        assert_eq!(
            in_plain_words("invalid type: integer `12`, expected a boolean"),
            "12 stands where true or false belongs"
        );
        assert_eq!(
            in_plain_words("unknown variant `middle`, expected `highest` or `lowest`"),
            "\"middle\" stands where \"highest\" or \"lowest\" belongs"
        );
        assert_eq!(
            in_plain_words("unknown field `chanel`, expected one of `channel`, `chord`"),
            "chanel is no setting here; there are `channel`, `chord`"
        );
        assert_eq!(
            in_plain_words("invalid type: boolean `true`, expected struct MidiSettings\n"),
            "midi is a table: write [midi] on a line of its own"
        );
        assert_eq!(
            in_plain_words("invalid type: sequence, expected a string"),
            "a list stands where a word in quotes belongs"
        );
        for (said, plain) in [
            ("string values must be quoted, expected literal string", "stands in quotes"),
            ("unclosed table, expected `]`", "in brackets, such as [midi]"),
            ("duplicate key", "a second time"),
            ("wanted string or table", "a word in quotes belongs here"),
        ] {
            assert!(in_plain_words(said).contains(plain), "{said}");
        }
        assert_eq!(in_plain_words("missing field `date`"), "missing field `date`");
    }

    #[test]
    fn a_value_is_named_with_the_line_of_its_own_table() {
        let text = "channel = 1\n[rests]\n low_minutes=3\n[midi] # keys\nchord = \"lowest\"\nchannel = 17\n";
        assert!(with_line(text, "midi.channel = 17 is wrong".to_owned()).starts_with("line 6: midi.channel"));
        assert!(with_line(text, "rests.low_minutes = 3".to_owned()).starts_with("line 3: "));
        assert_eq!(with_line(text, "two players have one id".to_owned()), "two players have one id");
        let two = "[[player]]\nid = \"a\"\nname = \"x\"\n[[player]]\nname = \"y\"\nid = \"b\"\n";
        assert_eq!(with_line(two, format!("{} = \"b\"", one_of("player", 1, "id"))), "line 6: player.id = \"b\"");
        assert_eq!(with_line(two, format!("{} = 3", one_of("player", 2, "id"))), "player.id = 3", "no third is there");
    }
}
