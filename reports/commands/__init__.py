"""The commands of `offcut`, a module each; none loads anything slow before it runs."""
