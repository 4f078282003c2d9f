"""The commands of `offcut plan`, a module each."""
