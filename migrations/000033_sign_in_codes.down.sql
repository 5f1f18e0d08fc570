DROP TABLE sign_in_codes;
