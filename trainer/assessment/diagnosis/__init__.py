"""What a member believes, inferred from answers, and what to ask next."""
