"""What of the profit is the tax office's: rules as data, and what they come to."""

CAUTION = (
    "An estimate, not advice: rules differ by place and change, and credits and other "
    "income may be missing here. Ask a licensed accountant."
)
