"""Pages for people without the program: a static folder, made from a judgement."""
