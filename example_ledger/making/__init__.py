"""The parts of `make_example.py`: tables of the invented shop, and makers of its files."""
