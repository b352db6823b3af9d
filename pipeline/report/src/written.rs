//! The blocks of a report, one by one, for formats that are written in lines.

use crate::fact::Fact;
use crate::games::Game;
use crate::report::{Block, Item, Method, Table, Tone};

/// Writes what blocks are made of. Plots are left out.
pub trait Written {
    /// A heading below the section's.
    fn heading(&mut self, title: &str);
    /// A paragraph.
    fn paragraph(&mut self, tone: Tone, text: &str);
    /// An entry of a list.
    fn item(&mut self, item: &Item);
    /// A term or a fact with its words.
    fn fact(&mut self, fact: &Fact);
    /// A method with its source.
    fn method(&mut self, method: &Method);
    /// A table.
    fn table(&mut self, table: &Table);
    /// A game by its number in its list.
    fn game(&mut self, number: usize, game: &Game);

    /// Writes a block.
    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading(title) => self.heading(title),
            Block::Paragraph(tone, text) => self.paragraph(*tone, text),
            Block::List(items) => items.iter().for_each(|item| self.item(item)),
            Block::Terms(facts) | Block::Facts(facts) => {
                facts.iter().for_each(|fact| self.fact(fact));
            }
            Block::Methods(methods) => methods.iter().for_each(|method| self.method(method)),
            Block::Table(table) => self.table(table),
            Block::Plot(_) => {}
            Block::Games(games) => {
                for (number, game) in (1..).zip(&games.games) {
                    self.game(number, game);
                }
            }
        }
    }
}
