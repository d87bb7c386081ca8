"""What a comparison looks like: tables, sentences, drawings and the decision sheet."""
