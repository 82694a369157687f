"""The way back: from the printed fields of a listing to rules, and the proof that they are the rules it was made of."""
