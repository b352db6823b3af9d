//! The macro by which a sort of question is declared.

/// Declares a sort of question: the struct of what its file says, and from the same list the
/// reader of the file, its schema, the conditions on rows of tables and the words for a reader.
///
/// Each field names the [`Field`](crate::fields::Field) that declares it; a text behind `=>` is added to the schema. The width
/// of rating bands and the fields that choose games and sides (dates, event, source, player, title,
/// rating difference, repeats) are added to every sort.
/// `keys of spells` stands for the fields that choose among spells by the piece, what restricted it, how it
/// stands and in what game.
/// A function behind the head settles fields that depend on one another, after reading.
#[macro_export]
macro_rules! question_file {
    (
        $(#[$attribute:meta])*
        pub struct $name:ident($about:literal, $title:literal) $(=> $settle:path)? {
            $(#[$head:meta])*
            head,
            keys of spells,
            $($fields:tt)+
        }
    ) => {
        $crate::question_file! {
            $(#[$attribute])*
            pub struct $name($about, $title) $(=> $settle)? {
                $(#[$head])*
                head,
                kinds: $crate::filter_keys::Kinds,
                k: $crate::filter_keys::SafeSquares,
                restrained: $crate::filter_keys::Restrained,
                turns: $crate::filter_keys::Turns,
                cause: $crate::filter_keys::Causes,
                by: $crate::filter_keys::Mover,
                quiet: $crate::filter_keys::Quiet,
                squares_taken: $crate::filter_keys::SquaresTaken,
                wedge: $crate::filter_keys::Wedge,
                stands: $crate::filter_keys::Stands,
                squares: $crate::filter_keys::OnSquares,
                phase: $crate::filter_keys::Phases,
                attacked: $crate::filter_keys::Attacked,
                defended: $crate::filter_keys::Defended,
                defenders: $crate::filter_keys::Defenders,
                defended_by: $crate::filter_keys::DefendedBy,
                others_held: $crate::filter_keys::OthersHeld,
                others_restrained: $crate::filter_keys::OthersRestrained,
                good: $crate::filter_keys::GoodSquares,
                developed: $crate::filter_keys::Developed,
                band: $crate::filter_keys::Bands,
                time_class: $crate::filter_keys::TimeClasses,
                $($fields)+
            }
        }
    };
    (
        $(#[$attribute:meta])*
        pub struct $name:ident($about:literal, $title:literal) $(=> $settle:path)? {
            $(#[$head:meta])*
            head,
            $($fields:tt)+
        }
    ) => {
        // How wide rating bands are and which games and sides are looked at is asked by every sort.
        $crate::question_file! {
            @whole
            $(#[$attribute])*
            pub struct $name($about, $title) $(=> $settle)? {
                $(#[$head])*
                head,
                $($fields)+
                #[serde(
                    default = "hobble_conditions::filter_keys::usual_band_width",
                    skip_serializing_if = "hobble_conditions::filter_keys::is_usual_band_width"
                )]
                band_width: $crate::filter_keys::BandWidth,
                #[serde(default, skip_serializing_if = "Option::is_none")]
                since: $crate::filter_keys::Since,
                #[serde(default, skip_serializing_if = "Option::is_none")]
                until: $crate::filter_keys::Until,
                #[serde(default, skip_serializing_if = "Vec::is_empty")]
                event: $crate::filter_keys::Events,
                #[serde(default, skip_serializing_if = "Vec::is_empty")]
                source: $crate::filter_keys::Sources,
                #[serde(default, skip_serializing_if = "Vec::is_empty")]
                player: $crate::filter_keys::Players,
                #[serde(default, skip_serializing_if = "Vec::is_empty")]
                player_title: $crate::filter_keys::Titles,
                #[serde(default, skip_serializing_if = "Vec::is_empty")]
                eco: $crate::filter_keys::Openings,
                #[serde(default, skip_serializing_if = "Vec::is_empty")]
                opponent_band: $crate::filter_keys::OpponentBands,
                #[serde(default, skip_serializing_if = "Vec::is_empty")]
                rating_diff: $crate::filter_keys::RatingDiffs,
                #[serde(default, skip_serializing_if = "hobble_conditions::terms::YesNo::is_any")]
                repeats: $crate::filter_keys::Repeats,
            }
        }
    };
    (
        @whole
        $(#[$attribute:meta])*
        pub struct $name:ident($about:literal, $title:literal) $(=> $settle:path)? {
            $(#[$head:meta])*
            head,
            $($(#[$field_attribute:meta])* $field:ident: $key:ty $(=> $more:literal)?,)+
        }
    ) => {
        $(#[$attribute])*
        #[derive(Debug, Clone, PartialEq, Eq, ::serde::Serialize, ::serde::Deserialize)]
        pub struct $name {
            /// Name it is asked by: the file's name without `.toml`.
            $(#[$head])*
            pub name: String,
            /// Title for readers.
            $(#[$head])*
            pub title: String,
            /// Text for readers; paragraphs parted by an empty line.
            $(#[$head])*
            pub text: String,
            $(
                #[doc = concat!("Value of the field that `", stringify!($key), "` declares.")]
                $(#[$field_attribute])*
                pub $field: <$key as $crate::fields::Field>::Value,
            )+
        }

        $(const _: () = assert!($crate::fields::same_text(
            <$key as $crate::fields::Field>::NAME,
            stringify!($field),
        ));)+

        impl $crate::fields::QuestionFile for $name {
            const ABOUT: &'static str = $about;
            const TITLE: &'static str = $title;
            const FIELDS: &'static [&'static str] = &[$(stringify!($field)),+];

            fn read(name: &str, reader: &mut $crate::fields::Reader<'_>) -> Self {
                let read = Self {
                    name: name.to_owned(),
                    title: reader.required_text("title"),
                    text: reader.required_text("text"),
                    $($field: reader.take::<$key>(),)+
                };
                $(let read = $settle(read);)?
                read
            }

            fn texts(&self) -> $crate::QuestionText {
                $crate::QuestionText {
                    name: self.name.clone(),
                    title: self.title.clone(),
                    text: self.text.clone(),
                }
            }

            fn of_every_sort() -> Vec<&'static str> {
                let all = [$((
                    stringify!($field),
                    <$key as $crate::fields::Field>::NARROWS == $crate::asked_rows::Narrows::Games,
                )),+];
                let width = <$crate::filter_keys::BandWidth as $crate::fields::Field>::NAME;
                let kept = all.into_iter().filter(|(name, of_games)| *of_games || *name == width);
                kept.map(|(name, _)| name).collect()
            }

            fn of_sides(&self) -> Vec<$crate::filter::Condition<'_>> {
                self.conditions($crate::asked_rows::AskedRows::Sides, &[])
            }

            fn sources(&self) -> &[String] {
                &self.source
            }

            fn sides_said(&self) -> Vec<$crate::fields::Said> {
                let all = [$((
                    <$key as $crate::fields::Field>::NARROWS,
                    <$key as $crate::fields::Field>::said(&self.$field),
                )),+];
                let games = |narrows| narrows == $crate::asked_rows::Narrows::Games;
                let of_games = all.into_iter().filter(|(narrows, _)| games(*narrows));
                of_games.filter_map(|(_, said)| said).collect()
            }

            fn band_width(&self) -> u16 {
                self.band_width
            }

            fn check(&self) -> Result<(), $crate::AskError> {
                $(if let Some(what) =
                    <$key as $crate::fields::Field>::absent(&self.$field, self.band_width)
                {
                    let name = <$key as $crate::fields::Field>::NAME;
                    return Err($crate::AskError::Override { name, what });
                })+
                Ok(())
            }

            fn overridden(
                &self,
                overrides: &$crate::Overrides,
            ) -> Result<Self, $crate::AskError> {
                overrides.taken_by(&[$(<$key as $crate::fields::Field>::NAME),+])?;
                let mut with = self.clone();
                $($crate::fields::put::<$key>(&mut with.$field, overrides)?;)+
                Ok(with)
            }

            fn properties() -> Vec<(&'static str, ::serde_json::Value)> {
                vec![$((
                    stringify!($field),
                    $crate::fields::schema::property::<$key>(&[$($more)?]),
                )),+]
            }
        }

        impl $name {
            /// Reads a question from the text of its file; `file` is named in errors.
            ///
            /// # Errors
            ///
            /// The first mistake in the file, with its line and field.
            pub fn parse(name: &str, file: &str, text: &str) -> Result<Self, $crate::AskError> {
                <Self as $crate::fields::QuestionFile>::parsed(name, file, text)
            }

            /// The question with what is given beside it in the place of what its file says.
            ///
            /// # Errors
            ///
            /// Where a value is out of range, or of a field that is not asked here.
            pub fn with(&self, overrides: &$crate::Overrides) -> Result<Self, $crate::AskError> {
                <Self as $crate::fields::QuestionFile>::overridden(self, overrides)
            }

            /// What the fields ask of rows, those `left_out` by name aside.
            pub fn conditions(
                &self,
                rows: $crate::asked_rows::AskedRows,
                left_out: &[&str],
            ) -> Vec<$crate::filter::Condition<'_>> {
                let all = [$((
                    stringify!($field),
                    <$key as $crate::fields::Field>::NARROWS,
                    <$key as $crate::fields::Field>::condition(&self.$field, rows),
                )),+];
                all.into_iter()
                    .filter(|(name, narrows, _)| !left_out.contains(name) && narrows.asks(rows))
                    .map(|(.., condition)| condition)
                    .filter(|condition| *condition != $crate::filter::Condition::Always)
                    .collect()
            }

            /// What is put behind the kinds of piece where they are named in a sentence, as `on
            /// the rim`.
            pub fn after_kinds(&self) -> Vec<String> {
                [$(<$key as $crate::fields::Field>::after_kind(&self.$field)),+]
                    .into_iter()
                    .flatten()
                    .collect()
            }

            /// The fields that narrow what is looked at, in words.
            pub fn said(&self) -> Vec<$crate::fields::Said> {
                [$(<$key as $crate::fields::Field>::said(&self.$field)),+]
                    .into_iter()
                    .flatten()
                    .collect()
            }
        }
    };
}
