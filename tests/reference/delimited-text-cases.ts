/** A case: what it is about, the delimiter, the text, and the rows that are expected. */
export type DelimitedCase = readonly [
  about: string,
  delimiter: ',' | ';' | '\t' | '|',
  text: string,
  rows: readonly (readonly string[])[],
];

/**
 * Cases of PapaParse's own tests, tests/test-cases.js at commit a51bdc7 (MIT, 2015 Matthew Holt), retyped: those of the core
 * parser and of parse() that need no option we do not have. Blank lines are left out of the rows, as our reader leaves them
 * out; the case of two line ends in one text is left out, since we take every line end for one.
 */
export const PAPAPARSE_CASES: readonly DelimitedCase[] = [
  ['One row', ',', 'A,b,c', [['A', 'b', 'c']]],
  [
    'Two rows',
    ',',
    'A,b,c\nd,E,f',
    [
      ['A', 'b', 'c'],
      ['d', 'E', 'f'],
    ],
  ],
  [
    'Three rows',
    ',',
    'A,b,c\nd,E,f\nG,h,i',
    [
      ['A', 'b', 'c'],
      ['d', 'E', 'f'],
      ['G', 'h', 'i'],
    ],
  ],
  ['Whitespace at edges of unquoted field', ',', 'a,\tb ,c', [['a', '\tb ', 'c']]],
  ['Quoted field', ',', 'A,"B",C', [['A', 'B', 'C']]],
  ['Quoted field with extra whitespace on edges', ',', 'A," B  ",C', [['A', ' B  ', 'C']]],
  ['Quoted field with delimiter', ',', 'A,"B,B",C', [['A', 'B,B', 'C']]],
  ['Quoted field with line break', ',', 'A,"B\nB",C', [['A', 'B\nB', 'C']]],
  ['Quoted fields with line breaks', ',', 'A,"B\nB","C\nC\nC"', [['A', 'B\nB', 'C\nC\nC']]],
  [
    'Quoted fields at end of row with delimiter and line break',
    ',',
    'a,b,"c,c\nc"\nd,e,f',
    [
      ['a', 'b', 'c,c\nc'],
      ['d', 'e', 'f'],
    ],
  ],
  ['Quoted field with escaped quotes', ',', 'A,"B""B""B",C', [['A', 'B"B"B', 'C']]],
  ['Quoted field with escaped quotes at boundaries', ',', 'A,"""B""",C', [['A', '"B"', 'C']]],
  ['Unquoted field with quotes at end of field', ',', 'A,B",C', [['A', 'B"', 'C']]],
  ['Quoted field with quotes around delimiter', ',', 'A,""",""",C', [['A', '","', 'C']]],
  ['Quoted field with quotes on right side of delimiter', ',', 'A,",""",C', [['A', ',"', 'C']]],
  ['Quoted field with quotes on left side of delimiter', ',', 'A,""",",C', [['A', '",', 'C']]],
  [
    'Quoted field with 5 quotes in a row and a delimiter in there, too',
    ',',
    '"1","cnonce="""",nc=""""","2"',
    [['1', 'cnonce="",nc=""', '2']],
  ],
  ['Quoted field with whitespace around quotes', ',', 'A, "B" ,C', [['A', ' "B" ', 'C']]],
  ['Misplaced quotes in data, not as opening quotes', ',', 'A,B "B",C', [['A', 'B "B"', 'C']]],
  [
    'Quoted field has valid trailing quote via delimiter',
    ',',
    'a,"b",c\nd,e,f',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Quoted field has valid trailing quote via \\n',
    ',',
    'a,b,"c"\nd,e,f',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Quoted field has valid trailing quote via EOF',
    ',',
    'a,b,c\nd,e,"f"',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Quoted field contains delimiters and \\n with valid trailing quote',
    ',',
    'a,"b,c\nd,e,f"',
    [['a', 'b,c\nd,e,f']],
  ],
  [
    'Line starts with quoted field',
    ',',
    'a,b,c\n"d",e,f',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Line starts with unquoted empty field',
    ',',
    ',b,c\n"d",e,f',
    [
      ['', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Line ends with quoted field',
    ',',
    'a,b,c\nd,e,f\n"g","h","i"\n"j","k","l"',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
      ['g', 'h', 'i'],
      ['j', 'k', 'l'],
    ],
  ],
  [
    'Line ends with quoted field, first field of next line is empty, \\n',
    ',',
    'a,b,c\n,e,f\n,"h","i"\n,"k","l"',
    [
      ['a', 'b', 'c'],
      ['', 'e', 'f'],
      ['', 'h', 'i'],
      ['', 'k', 'l'],
    ],
  ],
  [
    'Quoted field at end of row (but not at EOF) has quotes',
    ',',
    'a,b,"c""c"""\nd,e,f',
    [
      ['a', 'b', 'c"c"'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Empty quoted field at EOF is empty',
    ',',
    'a,b,""\na,b,""',
    [
      ['a', 'b', ''],
      ['a', 'b', ''],
    ],
  ],
  [
    'Multiple consecutive empty fields',
    ',',
    'a,b,,,c,d\n,,e,,,f',
    [
      ['a', 'b', '', '', 'c', 'd'],
      ['', '', 'e', '', '', 'f'],
    ],
  ],
  ['Empty input string', ',', '', []],
  ['Input is just the delimiter (2 empty fields)', ',', ',', [['', '']]],
  [
    'Input is just empty fields',
    ',',
    ',,\n,,,',
    [
      ['', '', ''],
      ['', '', '', ''],
    ],
  ],
  ['Input is just a string (a single field)', ',', 'Abc def', [['Abc def']]],
  [
    'Input with only a commented line, without comments enabled',
    ',',
    '#commented line',
    [['#commented line']],
  ],
  ['Input without comments with line starting with whitespace', ',', 'a\n b\nc', [['a'], [' b'], ['c']]],
  [
    'Multiple rows, one column (no delimiter found)',
    ',',
    'a\nb\nc\nd\ne',
    [['a'], ['b'], ['c'], ['d'], ['e']],
  ],
  ['One column input with empty fields', ',', 'a\nb\n\n\nc\nd\ne\n', [['a'], ['b'], ['c'], ['d'], ['e']]],
  [
    'Fast mode, basic',
    ',',
    'a,b,c\nd,e,f',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  ['Fast mode with blank line at end', ',', 'a,b,c\n', [['a', 'b', 'c']]],
  [
    'Two rows, just \\r',
    ',',
    'A,b,c\rd,E,f',
    [
      ['A', 'b', 'c'],
      ['d', 'E', 'f'],
    ],
  ],
  [
    'Two rows, \\r\\n',
    ',',
    'A,b,c\r\nd,E,f',
    [
      ['A', 'b', 'c'],
      ['d', 'E', 'f'],
    ],
  ],
  ['Quoted field with \\r\\n', ',', 'A,"B\r\nB",C', [['A', 'B\r\nB', 'C']]],
  ['Quoted field with \\r', ',', 'A,"B\rB",C', [['A', 'B\rB', 'C']]],
  [
    'Quoted fields with spaces between closing quote and next delimiter',
    ',',
    'A,"B" ,C,D\r\nE,F,"G"  ,H',
    [
      ['A', 'B', 'C', 'D'],
      ['E', 'F', 'G', 'H'],
    ],
  ],
  [
    'Quoted fields with spaces between closing quote and next new line',
    ',',
    'A,B,C,"D" \r\nE,F,G,"H"  \r\nQ,W,E,R',
    [
      ['A', 'B', 'C', 'D'],
      ['E', 'F', 'G', 'H'],
      ['Q', 'W', 'E', 'R'],
    ],
  ],
  [
    'Quoted fields with spaces after closing quote',
    ',',
    'A,"B" ,C,"D" \r\nE,F,"G"  ,"H"  \r\nQ,W,"E" ,R',
    [
      ['A', 'B', 'C', 'D'],
      ['E', 'F', 'G', 'H'],
      ['Q', 'W', 'E', 'R'],
    ],
  ],
  [
    'Misplaced quotes in data twice, not as opening quotes',
    ',',
    'A,B",C\nD,E",F',
    [
      ['A', 'B"', 'C'],
      ['D', 'E"', 'F'],
    ],
  ],
  [
    'Row with enough fields but blank field in the begining',
    ',',
    'A,B,C\r\n,b1,c1\r\na2,b2,c2',
    [
      ['A', 'B', 'C'],
      ['', 'b1', 'c1'],
      ['a2', 'b2', 'c2'],
    ],
  ],
  [
    'Tab delimiter',
    '\t',
    'a\tb\tc\r\nd\te\tf',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Pipe delimiter',
    '|',
    'a|b|c\r\nd|e|f',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Blank line at beginning',
    ',',
    '\r\na,b,c\r\nd,e,f',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Blank line in middle',
    ',',
    'a,b,c\r\n\r\nd,e,f',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Blank lines at end',
    ',',
    'a,b,c\nd,e,f\n\n',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Blank line in middle with whitespace',
    ',',
    'a,b,c\r\n \r\nd,e,f',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'First field of a line is empty',
    ',',
    'a,b,c\r\n,e,f',
    [
      ['a', 'b', 'c'],
      ['', 'e', 'f'],
    ],
  ],
  [
    'Last field of a line is empty',
    ',',
    'a,b,\r\nd,e,f',
    [
      ['a', 'b', ''],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Other fields are empty',
    ',',
    'a,,c\r\n,,',
    [
      ['a', '', 'c'],
      ['', '', ''],
    ],
  ],
  [
    'Empty lines',
    ',',
    '\na,b,c\n\nd,e,f\n\n',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Skip empty lines',
    ',',
    'a,b,c\n\nd,e,f',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  [
    'Skip empty lines, with newline at end of input',
    ',',
    'a,b,c\r\n\r\nd,e,f\r\n',
    [
      ['a', 'b', 'c'],
      ['d', 'e', 'f'],
    ],
  ],
  ['Skip empty lines, with first line only whitespace', ',', ' \na,b,c', [['a', 'b', 'c']]],
  [
    'Pipe delimiter is guessed correctly when mixed with comas',
    '|',
    'one|two,two|three\nfour|five,five|six',
    [
      ['one', 'two,two', 'three'],
      ['four', 'five,five', 'six'],
    ],
  ],
  [
    'Pipe delimiter is guessed correctly choose avgFildCount max one',
    ',',
    'a,b,c\na,b,c|d|e|f',
    [
      ['a', 'b', 'c'],
      ['a', 'b', 'c|d|e|f'],
    ],
  ],
  [
    'Pipe delimiter is guessed correctly when first field are enclosed in quotes and contain delimiter characters',
    ';',
    '"Field1,1,1";Field2;"Field3";Field4;Field5;Field6',
    [['Field1,1,1', 'Field2', 'Field3', 'Field4', 'Field5', 'Field6']],
  ],
  [
    'Pipe delimiter is guessed correctly when some fields are enclosed in quotes and contain delimiter characters and escaoped quotes',
    ';',
    'Field1;Field2;"Field,3,""3,3";Field4;Field5;"Field6,6"',
    [['Field1', 'Field2', 'Field,3,"3,3', 'Field4', 'Field5', 'Field6,6']],
  ],
  [
    'Carriage return in header inside quotes, with line feed endings',
    ',',
    '"a\r\na","b"\n"c","d"\n"e","f"\n"g","h"\n"i","j"',
    [
      ['a\r\na', 'b'],
      ['c', 'd'],
      ['e', 'f'],
      ['g', 'h'],
      ['i', 'j'],
    ],
  ],
  [
    'Line feed in header inside quotes, with carriage return + line feed endings',
    ',',
    '"a\na","b"\r\n"c","d"\r\n"e","f"\r\n"g","h"\r\n"i","j"',
    [
      ['a\na', 'b'],
      ['c', 'd'],
      ['e', 'f'],
      ['g', 'h'],
      ['i', 'j'],
    ],
  ],
  [
    'Using \\r\\n endings uses \\r\\n linebreak',
    ',',
    'a,b\r\nc,d\r\ne,f\r\ng,h\r\ni,j',
    [
      ['a', 'b'],
      ['c', 'd'],
      ['e', 'f'],
      ['g', 'h'],
      ['i', 'j'],
    ],
  ],
  [
    'Using \\n endings uses \\n linebreak',
    ',',
    'a,b\nc,d\ne,f\ng,h\ni,j',
    [
      ['a', 'b'],
      ['c', 'd'],
      ['e', 'f'],
      ['g', 'h'],
      ['i', 'j'],
    ],
  ],
  [
    'Using \\r\\n endings with \\r\\n in header field uses \\r\\n linebreak',
    ',',
    '"a\r\na",b\r\nc,d\r\ne,f\r\ng,h\r\ni,j',
    [
      ['a\r\na', 'b'],
      ['c', 'd'],
      ['e', 'f'],
      ['g', 'h'],
      ['i', 'j'],
    ],
  ],
  [
    'Using \\r\\n endings with \\n in header field uses \\r\\n linebreak',
    ',',
    '"a\na",b\r\nc,d\r\ne,f\r\ng,h\r\ni,j',
    [
      ['a\na', 'b'],
      ['c', 'd'],
      ['e', 'f'],
      ['g', 'h'],
      ['i', 'j'],
    ],
  ],
  [
    'Using \\r\\n endings with \\n in header field with skip empty lines uses \\r\\n linebreak',
    ',',
    '"a\na",b\r\nc,d\r\ne,f\r\ng,h\r\ni,j\r\n',
    [
      ['a\na', 'b'],
      ['c', 'd'],
      ['e', 'f'],
      ['g', 'h'],
      ['i', 'j'],
    ],
  ],
  [
    'Using \\n endings with \\r\\n in header field uses \\n linebreak',
    ',',
    '"a\r\na",b\nc,d\ne,f\ng,h\ni,j',
    [
      ['a\r\na', 'b'],
      ['c', 'd'],
      ['e', 'f'],
      ['g', 'h'],
      ['i', 'j'],
    ],
  ],
  [
    'UTF-8 BOM encoded input is stripped from invisible BOM character',
    ',',
    '﻿A,B\nX,Y',
    [
      ['A', 'B'],
      ['X', 'Y'],
    ],
  ],
  [
    'Quoted fields with spaces between closing quote and next delimiter and contains delimiter',
    ',',
    'A,",B" ,C,D\nE,F,G,H',
    [
      ['A', ',B', 'C', 'D'],
      ['E', 'F', 'G', 'H'],
    ],
  ],
  [
    'Quoted fields with spaces between closing quote and newline and contains newline',
    ',',
    'a,b,"c\n" \nd,e,f',
    [
      ['a', 'b', 'c\n'],
      ['d', 'e', 'f'],
    ],
  ],
];

/**
 * Texts of messytables' collection of horrors, folder horror/ (MIT, Open Knowledge Foundation), retyped; of the two long ones
 * the beginning.
 */
export const MESSY_TEXTS: Readonly<Record<string, string>> = {
  'simple comma':
    'date,temperature,place\n2011-01-01,1,Galway\n2011-01-02,-1,Galway\n2011-01-03,0,Galway\n2011-01-01,6,Berkeley\n2011-01-02,8,Berkeley\n2011-01-03,5,Berkeley\n',
  'simple semicolon':
    'date;temperature;place\n2011-01-01;1;Galway\n2011-01-02;-1;Galway\n2011-01-03;0;Galway\n2011-01-01;6;Berkeley\n2011-01-02;8;Berkeley\n2011-01-03;5;Berkeley\n',
  'simple bar':
    'Year|New dwellings|Other dwellings|All dwellings|First time buyers|Former owner occupiers\r\n1986|44000|35000|36000|27000|45000\r\n1987|50000|39000|40000|30000|50000\r\n1988|62000|48000|49000|36000|62000\r\n1989|74000|53000|55000|40000|71000\r\n1990|75000|58000|60000|45000|76000\r\n',
  complex:
    'date, another date, temperature, place\n2011-01-01, 24 October 2011, 0,\n2011-01-02, 24 October 2012, -1,Galway and more\n2011-01-03, , "6,000,000",Galway',
  'words for nothing':
    '1,null,0,0\n2,0,0,null\n3,null,,\n4,null,0,null\n5,0,0,\n6,0,0,\n7,null,0,null\n8,0,0,0\n9,0,0,null\n10,null,0,0\n',
  'blanks before cells': 'field1,field2\nhello,    goodbye\nhello2,goodbye2\n',
  'one letter': 'a',
  'byte order mark': '﻿kitten,win',
  'pasted from a spreadsheet':
    '"CO2 emissions by different sub-groups in manufacturing sector, 2000 to 2007",,,,,,,,\r\nthousand tonnes carbon equivalent,,,,,,,,\r\n,,,,,,,,\r\nYear,2000,2001,2002,2003,2004,2005,2006,2007\r\nTimber,"2,666","2,274","1,877","1,999","2,055","1,632","1,687","1,751"\r\nOther chemicals products,498,853,490,568,359,575,520,489\r\n"Clay, ceramic and glass products","3,108","2,954","2,658","2,662","2,669","2,622","2,603","2,494"\r\nIron and steel,"22,927","20,744","18,010","20,650","21,018","20,820","21,680","22,002"\r\n',
  'padded head':
    '\n\nAn der vertragsärztlichen Versorgung teilnehmende Ärztinnen                                                                                 \n****************************************************************************************************\n                                                                                                    \nDie Tabelle bezieht sich auf:\nRegion:;Deutschland\nGeschlecht:;Beide Geschlechter\nTeilnahmestatus:;Teilnehmende Ärztinnen und Ärzte insgesamt\n""\n;"";;;;;;;;;\n;"1985";"1993";"2000";"2005";"2006";"2007";"2008";"2009";"2010";\n"   Chirurgie (ohne Orthopädie) ...";"      ";"      ";"      ";"      ";"      ";"      ";"      ";"      ";"      ";\n"      Gefäßchirurgie";".";"379";"575";"686";"704";"723";"729";"742";"733";\n"      Herz- und Gefäßchirurgie";".";"1";"1";"";"";"";"";"";"";\n"      Kinderchirurgie";".";"135";"123";"100";"88";"81";"81";"69";"65";\n',
  'carriage returns':
    'Combined Land--Ocean Temperature Anomaly (C) CR 1200km 1880 to 2012.,,,,,,,,,,,,,,,,,,\rGLOBAL Temperature Anomalies in .01 C     base period: 1951-1980,,,,,,,,,,,,,,,,,,\r,,,,,,,,,,,,,,,,,,\rYear,Jan,Feb,Mar,Apr,May,Jun,Jul,Aug,Sep,Oct,Nov,Dec,J-D,D-N,DJF,MAM,JJA,SON\r1880,-43,-27,-26,-36,-31,-39,-24,-14,-29,-23,-20,-23,-28,****,*****,-31,-25,-24\r1881,-20,-24,-1,-5,-6,-32,-14,-12,-26,-29,-38,-30,-20,-19,-22,-4,-19,-31\r',
};
