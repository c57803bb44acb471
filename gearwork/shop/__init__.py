"""What leaves for the workshop: cut files, drawings, job sheet, pictures."""
