//! What every picture of a page has in common: an opening tag that scales with the page,
//! and a title and description for readers who do not see it.

/// Name and words of a picture.
#[derive(Debug, Clone, Copy)]
pub struct Words<'a> {
    /// Identifier, unlike any other in the page: ASCII letters, digits, hyphens.
    pub id: &'a str,
    /// What the picture is, in a few words.
    pub title: &'a str,
    /// What it shows, in full.
    pub description: &'a str,
}

/// An SVG of `width` × `height` units around `body`. It takes the width its page gives it;
/// title and description are escaped here.
pub fn wrap(words: Words<'_>, class: &str, width: u32, height: u32, body: &str) -> String {
    let Words {
        id,
        title,
        description,
    } = words;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" id=\"{id}\" class=\"{class}\" role=\"img\" \
         aria-labelledby=\"{id}-title\" aria-describedby=\"{id}-words\" \
         viewBox=\"0 0 {width} {height}\" font-family=\"system-ui, sans-serif\">\n\
         <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-words\">{}</desc>\n{body}</svg>",
        escape(title),
        escape(description),
    )
}

/// Text escaped for HTML and SVG, in an element or in an attribute between double quotes.
pub(crate) fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '&' => escaped.push_str("&amp;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            c => escaped.push(c),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_text_is_escaped() {
        assert_eq!(
            escape("<b a=\"1\" c='2'>&"),
            "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;"
        );
    }
}
