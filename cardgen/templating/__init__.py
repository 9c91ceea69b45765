"""A centre's branding and a card's design, as data that users edit."""
