"""Takes the ear apart: each stage and each rule off, and what that costs."""
