"""What a year leaves for the tax office and the accountant, beside the form itself."""
