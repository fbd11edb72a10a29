package column
