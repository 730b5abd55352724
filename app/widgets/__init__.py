"""What every page uses: cards, rows, words, folds, tables to read, cautions."""
