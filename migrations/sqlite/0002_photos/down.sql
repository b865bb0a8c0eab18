DROP TABLE photo_part;
DROP TABLE photo;
