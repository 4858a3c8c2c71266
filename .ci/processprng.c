/* Wine 8 lacks bcryptprimitives.dll, the one library that Go's runtime loads by
 * name on Windows. This one gives what it asks for, for the tests only: it is
 * never shipped. ProcessPrng and SystemFunction036 fill a buffer with random
 * bytes (documented by Microsoft under those names). */
#include <windows.h>

BOOLEAN NTAPI SystemFunction036(PVOID buffer, ULONG length);

__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE buffer, SIZE_T length) {
	return SystemFunction036(buffer, (ULONG)length);
}
