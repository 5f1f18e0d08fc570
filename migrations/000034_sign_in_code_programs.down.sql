DROP TABLE sign_in_code_programs;
