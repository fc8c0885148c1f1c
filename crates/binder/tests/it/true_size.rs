//! What is printed at true size measures what it should.
