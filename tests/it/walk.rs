//! Walks.

use crate::hand::Hand;

#[test]
fn look() {
    let mut hand = Hand::demo();
    println!("{}", hand.small());
    hand.keys("<Esc>");
    println!("{}", hand.small());
    hand.keys("mo<Tab>2.9<Tab>3.2<Tab>3.3<Tab>3.6<Tab>24");
    println!("{}", hand.small());
    hand.keys("<Enter> <←><↑>");
    println!("{}", hand.small());
    hand.keys("w");
    println!("{}", hand.small());
    println!("{}", hand.screen(160, 45));
    hand.keys("w3 28<Enter><F3>");
    println!("{}", hand.small());
    hand.keys("<Ctrl+W>");
    println!("{}", hand.small());
    hand.keys("b<Ctrl+P>");
    println!("{}", hand.small());
    hand.keys("o3.0x28<Enter>");
    println!("{}", hand.small());
    hand.keys("i14<Tab><Tab>20");
    println!("{}", hand.small());
    hand.keys("<Enter>f");
    println!("{}", hand.small());
    hand.keys("1<F6>");
    println!("{}", hand.small());
    hand.keys("s<Enter>");
    println!("{}", hand.small());
    hand.keys("<F7>");
    println!("{}", hand.small());
    hand.keys("<→>");
    println!("{}", hand.small());
    hand.keys("<→>");
    println!("{}", hand.small());
    hand.keys("<F9>");
    println!("{}", hand.small());
    hand.keys("<F1>");
    println!("{}", hand.small());
}
