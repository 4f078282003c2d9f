"""Where things are sold: channels, fairs, the shops that buy, and what they owe."""
