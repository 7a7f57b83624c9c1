//! Names that a file defines, and which of them a language keeps for itself.

use std::collections::BTreeMap;

use super::{Emitted, Form, Table};

/// Keywords of C up to C23, and macros that its standard headers define.
const OF_C: &[&str] = &[
    "alignas",
    "alignof",
    "auto",
    "bool",
    "break",
    "case",
    "char",
    "const",
    "constexpr",
    "continue",
    "default",
    "do",
    "double",
    "else",
    "enum",
    "extern",
    "false",
    "float",
    "for",
    "goto",
    "if",
    "inline",
    "int",
    "long",
    "nullptr",
    "register",
    "restrict",
    "return",
    "short",
    "signed",
    "sizeof",
    "static",
    "static_assert",
    "struct",
    "switch",
    "thread_local",
    "true",
    "typedef",
    "typeof",
    "typeof_unqual",
    "union",
    "unsigned",
    "void",
    "volatile",
    "while",
    // C++ reads the header too.
    "and",
    "and_eq",
    "asm",
    "bitand",
    "bitor",
    "catch",
    "class",
    "compl",
    "concept",
    "const_cast",
    "decltype",
    "delete",
    "dynamic_cast",
    "explicit",
    "export",
    "friend",
    "mutable",
    "namespace",
    "new",
    "noexcept",
    "not",
    "not_eq",
    "operator",
    "or",
    "or_eq",
    "private",
    "protected",
    "public",
    "reinterpret_cast",
    "requires",
    "static_cast",
    "template",
    "this",
    "throw",
    "try",
    "typeid",
    "typename",
    "using",
    "virtual",
    "wchar_t",
    "xor",
    "xor_eq",
    "BUFSIZ",
    "EDOM",
    "EILSEQ",
    "EOF",
    "ERANGE",
    "FILENAME_MAX",
    "FLT_EPSILON",
    "FOPEN_MAX",
    "HUGE_VAL",
    "I",
    "INFINITY",
    "INT_MAX",
    "INT_MIN",
    "LONG_MAX",
    "LONG_MIN",
    "NAN",
    "NULL",
    "RAND_MAX",
    "SEEK_CUR",
    "SEEK_END",
    "SEEK_SET",
    "SIZE_MAX",
    "TMP_MAX",
    "UINT_MAX",
    "ULONG_MAX",
    "assert",
    "errno",
    "offsetof",
];

/// Keywords of Rust, strict and reserved, up to the 2024 edition.
const OF_RUST: &[&str] = &[
    "Self", "abstract", "as", "async", "await", "become", "box", "break", "const", "continue",
    "crate", "do", "dyn", "else", "enum", "extern", "false", "final", "fn", "for", "gen", "if",
    "impl", "in", "let", "loop", "macro", "match", "mod", "move", "mut", "override", "priv", "pub",
    "ref", "return", "self", "static", "struct", "super", "trait", "true", "try", "type", "typeof",
    "unsafe", "unsized", "use", "virtual", "where", "while", "yield",
];

/// Keywords of Python 3, and of Python 2 for old interpreters.
const OF_PYTHON: &[&str] = &[
    "False", "None", "True", "and", "as", "assert", "async", "await", "break", "class", "continue",
    "def", "del", "elif", "else", "except", "exec", "finally", "for", "from", "global", "if",
    "import", "in", "is", "lambda", "nonlocal", "not", "or", "pass", "print", "raise", "return",
    "try", "while", "with", "yield",
];

/// Whether a form keeps a name for itself.
pub fn is_reserved(form: Form, name: &str) -> bool {
    let words = match form {
        Form::C => OF_C,
        Form::Rust => OF_RUST,
        Form::Python => OF_PYTHON,
        Form::Csv | Form::Json => &[],
    };
    words.contains(&name)
}

/// Words as the end of an identifier: `Set alone (Ω)` is `SET_ALONE`.
pub(super) fn upper(words: &str) -> String {
    let mut name = String::new();
    for c in words.chars() {
        if c.is_ascii_alphanumeric() {
            name.push(c.to_ascii_uppercase());
        } else if !name.is_empty() && !name.ends_with('_') {
            name.push('_');
        }
    }
    name.trim_end_matches('_').to_owned()
}

impl Table {
    /// Names of its columns behind that of the table, in their order.
    pub(super) fn column_names(&self) -> Vec<String> {
        let mut seen: BTreeMap<String, usize> = BTreeMap::new();
        let name = |head: &str| {
            let upper = match upper(head) {
                none if none.is_empty() => "COLUMN".to_owned(),
                upper => upper,
            };
            let times = seen.entry(upper.clone()).or_default();
            *times += 1;
            match *times {
                1 => format!("{}_{upper}", self.name),
                again => format!("{}_{upper}_{again}", self.name),
            }
        };
        self.columns
            .iter()
            .map(|column| column.head.as_str())
            .map(name)
            .collect()
    }
}

impl Emitted {
    /// Name of the constant with the state.
    pub fn state_name(&self) -> String {
        match upper(&self.stem) {
            stem if stem.starts_with(|c: char| c.is_ascii_alphabetic()) => format!("{stem}_STATE"),
            stem => format!("OHMBOOK_{stem}_STATE"),
        }
    }

    /// Name by which a C header knows that it was read already.
    pub(super) fn guard(&self) -> String {
        format!("OHMBOOK_{}_H", upper(&self.stem))
    }

    /// Every name that the file defines, with the name of the constant, table or
    /// limit that it is made for; none for the state.
    pub fn names(&self, form: Form) -> Vec<(String, Option<&str>)> {
        let mut names = vec![(self.state_name(), None)];
        let is_source = matches!(form, Form::C | Form::Rust | Form::Python);
        if form == Form::C {
            names.push((self.guard(), None));
        }
        for constant in &self.constants {
            names.push((constant.name.clone(), Some(&*constant.name)));
        }
        for table in &self.tables {
            let mut own = match is_source {
                true => table.column_names(),
                false => vec![table.name.clone()],
            };
            if is_source {
                own.push(format!("{}_ROWS", table.name));
            }
            names.extend(own.into_iter().map(|name| (name, Some(&*table.name))));
        }
        for limit in &self.limits {
            let own = match is_source {
                true => limit.parts().map(|(name, ..)| name).collect(),
                false => vec![limit.name.clone()],
            };
            names.extend(own.into_iter().map(|name| (name, Some(&*limit.name))));
        }
        names
    }
}

impl super::Limit {
    /// Its numbers with their names: the name, the number, and whether it is in
    /// counts.
    pub(super) fn parts(&self) -> impl Iterator<Item = (String, f64, bool)> {
        let ends = [("LOW", self.low, false), ("HIGH", self.high, false)];
        let counts = self
            .counts
            .into_iter()
            .flat_map(|(low, high)| [("LOW_COUNTS", low, true), ("HIGH_COUNTS", high, true)]);
        ends.into_iter()
            .chain(counts)
            .map(|(end, number, counts)| (format!("{}_{end}", self.name), number, counts))
    }
}
